package store_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
)

// The proofs that end a program end this one: the test binary starts itself
// again, as a child that uses a store and says what is durable.
const (
	childEnv = "EVENBELL_STORE_CHILD" // append, add or serve
	dirEnv   = "EVENBELL_STORE_DIR"
	syncEnv  = "EVENBELL_STORE_SYNC"
	lifeEnv  = "EVENBELL_STORE_LIFE"
)

func child(role string) int {
	ctx := context.Background()
	s, err := store.OpenCareless(ctx, os.Getenv(dirEnv), os.Getenv(syncEnv), 4)
	if err != nil {
		fmt.Println("refused", err)
		return 1
	}
	switch role {
	case "append":
		return appendMany(ctx, s)
	case "add":
		return addMany(ctx, s)
	case "serve":
		fmt.Println("serving", s.Serve())
		_, _ = io.Copy(io.Discard, os.Stdin) // until it is closed, or kill -9
		return 0
	}
	return 2
}

// recorded is the nth entry of a life, and what it says.
func recorded(life string, n int64, hash journal.Hash) (journal.Record, error) {
	e := coach.Entry{Epoch: "life-" + life, Seq: n, Boot: life, Kind: coach.EntryRep, Tag: "K4", Session: "s" + life, Data: coach.RepData{}}
	if n == 1 {
		e.Kind, e.Data = coach.EntryStart, coach.StartData{}
	}
	line, err := journal.Line(e)
	return journal.Record{Position: journal.Position{Epoch: e.Epoch, Seq: n}, Line: line, Hash: hash.Next(line)}, err
}

// appendMany appends as fast as it can, a line of the audit trail with each
// batch, and after the first error tries three times more.
func appendMany(ctx context.Context, s *store.Store) int {
	life, hash, n := os.Getenv(lifeEnv), journal.Hash{}, int64(0)
	station, err := s.StationByName(ctx, "Bay 1")
	if errors.Is(err, store.ErrNotFound) {
		station, err = s.AddStation(ctx, store.Station{Name: "Bay 1"})
	}
	for round := 0; err == nil && round < 2000; round++ {
		var batch []journal.Record
		for range 1 + round%30 {
			n++
			r, err := recorded(life, n, hash)
			if err != nil {
				fmt.Println("no line", err)
				return 1
			}
			hash = r.Hash
			batch = append(batch, r)
		}
		err = s.Together(ctx, func(ctx context.Context) error {
			done, err := s.Append(ctx, store.Batch{Station: station.ID, Records: batch, Received: noon})
			if err == nil && done.Mark.Seq != n {
				err = fmt.Errorf("the mark is %v and must be %d", done.Mark, n)
			}
			return errors.Join(err, s.Audit(ctx, store.AuditLine{At: noon, Action: "append", Subject: life}))
		})
		if err == nil {
			fmt.Println("logged", life, n, round+1)
		}
	}
	fmt.Println("failed", err)
	for range 3 {
		_, err := s.Append(ctx, store.Batch{Station: station.ID, Received: noon})
		fmt.Println("again", errors.Is(err, store.ErrFailed))
	}
	fmt.Println("closed", s.Close())
	return 1
}

// addMany adds patients, as a command beside a server would.
func addMany(ctx context.Context, s *store.Store) int {
	for n := range 40 {
		if _, err := s.AddPatient(ctx, store.Patient{Tag: fmt.Sprint(os.Getenv(lifeEnv), "-", n)}); err != nil {
			fmt.Println("failed", err)
			return 1
		}
	}
	fmt.Println("added", s.Close())
	return 0
}

// program is a running child and what it says.
type program struct {
	cmd   *exec.Cmd
	in    io.WriteCloser
	lines *bufio.Scanner
}

func startChild(t testing.TB, role, dir, synchronous, life string) *program {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"="+role, dirEnv+"="+dir, syncEnv+"="+synchronous, lifeEnv+"="+life)
	cmd.Stderr = os.Stderr
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL} // it never outlives the test
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	return &program{cmd, in, bufio.NewScanner(out)}
}

// says gives the child's next line, or "" when it has ended.
func (p *program) says() string {
	if !p.lines.Scan() {
		return ""
	}
	return p.lines.Text()
}

// kill ends the child by kill -9, unless it has ended, and gives what it had
// still said.
func (p *program) kill() []string {
	_ = p.cmd.Process.Kill()
	return p.end()
}

// end waits for the child and gives what it had still said.
func (p *program) end() []string {
	_ = p.in.Close()
	var rest []string
	for s := p.says(); s != ""; s = p.says() {
		rest = append(rest, s)
	}
	_ = p.cmd.Wait()
	return rest
}

// promise is what children have said is durable: of each life how many
// entries, and of all together how many lines of the audit trail.
type promise struct {
	entries map[string]int64
	lines   map[string]int64
}

func newPromise() promise { return promise{map[string]int64{}, map[string]int64{}} }

func (p promise) hear(line string) {
	words := strings.Fields(line)
	if len(words) != 4 || words[0] != "logged" {
		return
	}
	n, _ := strconv.ParseInt(words[2], 10, 64)
	lines, _ := strconv.ParseInt(words[3], 10, 64)
	p.entries[words[1]], p.lines[words[1]] = max(p.entries[words[1]], n), max(p.lines[words[1]], lines)
}

// broken says what of the promises a folder does not keep.
func (p promise) broken(ctx context.Context, dir string) (entries int, err error) {
	s, err := store.Open(ctx, dir)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	lines := int64(0)
	for _, n := range p.lines {
		lines += n
	}
	has, err := s.VerifyAudit(ctx)
	if err != nil {
		return 0, err
	}
	if has < lines {
		return 0, fmt.Errorf("%d lines of the audit trail were promised and %d are there", lines, has)
	}
	if len(p.entries) == 0 {
		return 0, nil
	}
	station, err := s.StationByName(ctx, "Bay 1")
	if err != nil {
		return 0, err
	}
	for life, n := range p.entries {
		at, err := s.VerifyLog(ctx, station.ID, "life-"+life)
		if err != nil {
			return 0, err
		}
		if at.Seq < n {
			return 0, fmt.Errorf("life %s: %d entries were promised and %d are there", life, n, at.Seq)
		}
		entries += int(at.Seq)
	}
	return entries, nil
}
