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
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
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

// unlock is the clinic's own release sequence.
var unlock = []string{"minus", "plus", "minus"}

func newWall(t testing.TB, speed float64) *wall {
	dir := t.TempDir()
	bin := filepath.Join(dir, "station")
	out, err := exec.Command("go", "build", "-o", bin, ".").CombinedOutput()
	require.NoError(t, err, "%s", out)
	w := &wall{bin: bin, data: filepath.Join(dir, "data"), config: filepath.Join(dir, "station.toml"), box: filepath.Join(dir, "box")}
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
		e := entry{line: line}
		require.NoError(t, json.Unmarshal([]byte(line), &e))
		es = append(es, e)
	}
	return es
}
