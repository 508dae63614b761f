package journal_test

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// The proofs that end a program end this one: the test binary starts itself
// again, as a child that writes a journal and says what is durable.
const (
	childEnv = "EVENBELL_JOURNAL_CHILD" // append or record
	dirEnv   = "EVENBELL_JOURNAL_DIR"
	syncEnv  = "EVENBELL_JOURNAL_SYNC"
)

func TestMain(m *testing.M) {
	switch os.Getenv(childEnv) {
	case "append":
		os.Exit(appendMany())
	case "record":
		os.Exit(recordMany())
	}
	os.Exit(m.Run())
}

func openInChild() *journal.Journal {
	j, err := journal.Open(os.Getenv(dirEnv), journal.WithSynchronous(os.Getenv(syncEnv)))
	if err != nil {
		fmt.Println("refused", err)
		os.Exit(1)
	}
	fmt.Println("logged", j.Epoch(), 1)
	return j
}

const manyEntries = 20_000 // far more than any proof lets a child write

// appendMany appends as fast as it can, and after the first error tries
// three times more.
func appendMany() int {
	j := openInChild()
	for n := 0; n < manyEntries; {
		var batch []coach.Entry
		for range 1 + n%4 {
			n++
			batch = append(batch, rep(n))
		}
		at, err := j.Append(batch...)
		if err != nil {
			fmt.Println("failed", err)
			for range 3 {
				_, err := j.Append(rep(n))
				fmt.Println("again", errors.Is(err, journal.ErrFailed))
			}
			fmt.Println("closed", j.Close())
			return 1
		}
		fmt.Println("logged", at.Epoch, at.Seq)
	}
	return 0
}

// recordMany records as the audio goroutine does and says so each time.
func recordMany() int {
	j := openInChild()
	r := journal.NewRecorder(j, func(at journal.Position) { fmt.Println("logged", at.Epoch, at.Seq) },
		func(err error) { fmt.Println("failed", err) })
	for n := 1; n < manyEntries; n++ {
		r.Record(rep(n))
		waiting, _ := r.Waiting()
		fmt.Println("recorded", n, waiting)
		time.Sleep(time.Millisecond)
	}
	return 0
}

// child is a running child and what it says.
type child struct {
	cmd   *exec.Cmd
	lines *bufio.Scanner
}

func startChild(t testing.TB, role, dir, synchronous string) *child {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"="+role, dirEnv+"="+dir, syncEnv+"="+synchronous)
	cmd.Stderr = os.Stderr
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL} // it never outlives the test
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	return &child{cmd, bufio.NewScanner(out)}
}

// says gives the child's next line, or "" when it has ended.
func (c *child) says() string {
	if !c.lines.Scan() {
		return ""
	}
	return c.lines.Text()
}

// kill ends the child by kill -9, unless it has ended, and gives what it had
// still said.
func (c *child) kill() []string {
	_ = c.cmd.Process.Kill()
	return c.end()
}

// end waits for the child and gives what it had still said.
func (c *child) end() []string {
	var rest []string
	for s := c.says(); s != ""; s = c.says() {
		rest = append(rest, s)
	}
	_ = c.cmd.Wait()
	return rest
}

// promise is what children have said is durable, over all their lives.
type promise map[string]int64 // epoch → the highest number

// hear notes a line that promises something.
func (p promise) hear(line string) {
	var epoch string
	var seq int64
	if _, err := fmt.Sscanf(line, "logged %s %d", &epoch, &seq); err == nil && strings.HasPrefix(line, "logged ") {
		p[epoch] = max(p[epoch], seq)
	}
}

// history is what each number was first seen to be, over all lives of a log.
type history map[journal.Position]journal.Hash

// broken says what of the promises a folder does not keep: damage found, an
// entry missing, a number with another entry than before.
func (p promise) broken(t testing.TB, dir string, seen history) error {
	t.Helper()
	r, err := journal.OpenReader(dir)
	if errors.Is(err, journal.ErrNoLog) && len(p) == 0 {
		return nil // the power failed before the log was laid out
	}
	if err != nil {
		return err
	}
	defer r.Close()
	if _, err := r.Verify(); err != nil {
		return err
	}
	has := promise{}
	for _, rec := range all(t, r) {
		has[rec.Epoch] = rec.Seq
		if before, again := seen[rec.Position]; again && before != rec.Hash {
			return fmt.Errorf("%v has become another entry", rec.Position)
		}
		seen[rec.Position] = rec.Hash
	}
	for epoch, seq := range p {
		if has[epoch] < seq {
			return fmt.Errorf("%s: %d was acknowledged, and the log ends at %d", epoch, seq, has[epoch])
		}
	}
	return nil
}
