package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"evenbell/coach/journal"
)

// wall is a station on the wall: the real program with a folder for its log
// and a FIFO for its buttons, started as often as a test likes.
type wall struct {
	bin, data, config, box string
	stderr                 bytes.Buffer // of the last start
}

// onePatient is a plan for the days around today, so that midnight may pass.
func onePatient() string {
	now := time.Now()
	return fmt.Sprintf(`format = "day-plan/1"
day = %s
until = %s
clinic = "Quayside Heart Health"
unit = "kg"
[approval]
by = "R. Okafor"
at = 2026-03-01T16:20:00Z
[[patient]]
tag = "K4"
warm_up = 300
cool_down = 300
[[patient.item]]
exercise = "biceps-curl"
reps = 10
load = "2 kg"
[[patient.item]]
exercise = "heel-raise"
reps = 10
load = "body"
`, now.AddDate(0, 0, -1).Format(time.DateOnly), now.AddDate(0, 0, 1).Format(time.DateOnly))
}

// built is the program, built once for all tests.
func built(t testing.TB) string {
	bin, err := buildOnce()
	require.NoError(t, err, "building the program")
	return bin
}

var buildOnce = sync.OnceValues(func() (string, error) {
	bin := filepath.Join(scratch, "station")
	out, err := exec.Command("go", "build", "-o", bin, ".").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return bin, nil
})

// unlock is the clinic's own release sequence.
var unlock = []string{"minus", "plus", "minus"}

func newWall(t testing.TB, speed float64) *wall {
	dir := t.TempDir()
	w := &wall{bin: built(t), data: filepath.Join(dir, "data"), config: filepath.Join(dir, "station.toml"), box: filepath.Join(dir, "box")}
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("the program's own log:\n%s", w.stderr.String())
		}
	})
	require.NoError(t, unix.Mkfifo(w.box, 0o600))
	plan := filepath.Join(dir, "plan.toml")
	require.NoError(t, os.WriteFile(plan, []byte(onePatient()), 0o644))
	require.NoError(t, os.WriteFile(w.config, fmt.Appendf(nil, `format = "station/1"
name = "Bay 3"
data = %q
plan = %q
release = ["%s"]
sink = "silent"
speed = %v
intro = false
[buttons]
kind = "lines"
path = %q
`, w.data, plan, strings.Join(unlock, `", "`), speed, w.box), 0o644))
	return w
}

// life is one run of the program, from its start to its end.
type life struct {
	cmd    *exec.Cmd
	box    *os.File
	awake  chan struct{} // closed once it has said that something is durable
	logged chan []string // what it said was durable; one value, at its end
}

func (w *wall) start(t testing.TB, env ...string) *life {
	l := &life{cmd: exec.Command(w.bin, "run", "--config", w.config), awake: make(chan struct{}), logged: make(chan []string, 1)}
	w.stderr.Reset()
	l.cmd.Stderr = &w.stderr
	l.cmd.Env = append(os.Environ(), env...)
	out, err := l.cmd.StdoutPipe()
	require.NoError(t, err)
	l.box, err = os.OpenFile(w.box, os.O_RDWR, 0) // never waits for a reader
	require.NoError(t, err)
	require.NoError(t, l.cmd.Start())
	go func() {
		var lines []string
		for s := bufio.NewScanner(out); s.Scan(); {
			if lines = append(lines, s.Text()); len(lines) == 1 {
				close(l.awake)
			}
		}
		l.logged <- lines
	}()
	return l
}

func (l *life) press(names ...string) {
	io.WriteString(l.box, strings.Join(names, "\n")+"\n")
}

// follower reads a station's log while the station writes it.
type follower struct {
	t      testing.TB
	reader *journal.Reader
	at     journal.Position
	news   []entry // read and not yet looked at
}

// follow begins to read where the log ends now. The station is at work.
func (w *wall) follow(t testing.TB, l *life) *follower {
	select {
	case <-l.awake:
	case <-time.After(patience):
		require.Fail(t, "the station logs nothing")
	}
	r, err := journal.OpenReader(w.data)
	require.NoError(t, err)
	t.Cleanup(func() { r.Close() })
	at, err := r.Head()
	require.NoError(t, err)
	return &follower{t: t, reader: r, at: at}
}

// patience is how long a test waits for the program on a machine that is busy
// with a lot else.
const patience = 3 * time.Minute

// until calls try every so often until an entry of the kind comes, and gives
// it. Entries before it are passed over, those after it wait for the next
// call.
func (f *follower) until(kind string, every time.Duration, try func()) entry {
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(every) {
		try()
		records, err := f.reader.After(f.at, 1000)
		require.NoError(f.t, err)
		for _, r := range records {
			f.at = r.Position
			f.news = append(f.news, readEntry(f.t, string(r.Line)))
		}
		for i, e := range f.news {
			if e.Kind == kind {
				f.news = f.news[i+1:]
				return e
			}
		}
		f.news = nil
	}
	require.Failf(f.t, "it never came to that", "no %s after %s %d", kind, f.at.Epoch, f.at.Seq)
	return entry{}
}

// end waits for the program to have gone and gives the lines it printed. A
// signal has been sent before.
func (l *life) end() []string {
	lines := <-l.logged
	l.cmd.Wait()
	l.box.Close()
	return lines
}

// entry is what the tests read of a log's line.
type entry struct {
	Epoch, Kind, Session string
	Seq, Sample          int64
	line                 string
}

// log verifies the log by the program's own command and reads it.
func (w *wall) log(t testing.TB) []entry {
	out, err := exec.Command(w.bin, "journal", "--data", w.data, "--jsonl", "--verify").Output()
	require.NoError(t, err, "verifying the log")
	head, rest, _ := strings.Cut(string(out), "\n")
	require.Contains(t, head, "whole: ")
	var es []entry
	for line := range strings.Lines(rest) {
		es = append(es, readEntry(t, line))
	}
	return es
}

func readEntry(t testing.TB, line string) entry {
	e := entry{line: line}
	require.NoError(t, json.Unmarshal([]byte(line), &e))
	return e
}
