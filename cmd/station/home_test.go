package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// homePlan is the plan of one who exercises at home, for the days from one to
// another, counted from today.
func homePlan(from, until int) string {
	now := time.Now()
	text := strings.Replace(onePatient(), now.AddDate(0, 0, -1).Format(time.DateOnly), now.AddDate(0, 0, from).Format(time.DateOnly), 1)
	text = strings.Replace(text, "until = "+now.AddDate(0, 0, 1).Format(time.DateOnly), "until = "+now.AddDate(0, 0, until).Format(time.DateOnly), 1)
	return strings.Replace(text, "cool_down = 300\n", "cool_down = 300\n[patient.home]\ntelephone = \"020 912 0456\"\nemergency = \"Ring Astrid.\"\ndays_between = 1\n", 1)
}

// atHome is a station with a plan for home.
func atHome(t *testing.T, plan string) *wall {
	w := newWall(t, killSpeed)
	require.NoError(t, os.WriteFile(filepath.Join(filepath.Dir(w.config), "plan.toml"), []byte(plan), 0o644))
	return w
}

func (w *wall) said(t *testing.T) string {
	var out []string
	for _, e := range w.log(t) {
		if _, text, ok := strings.Cut(e.line, `"text":"`); ok && e.Kind == "said" {
			text, _, _ = strings.Cut(text, `"`)
			out = append(out, text)
		}
	}
	return strings.Join(out, " ")
}

// Once the plan is over the real program says so, with the number to ring, and
// coaches nobody.
func TestAPlanForHomeThatIsOver(t *testing.T) {
	t.Parallel()
	w := atHome(t, homePlan(-30, -2))
	l := w.start(t)
	f := w.follow(t, l)
	e := f.until("refused", killPace, func() { l.press("tap") })
	assert.Contains(t, e.line, `"data":{"reason":"plan-over"}`)
	f.until("said", killPace, func() {})
	require.NoError(t, l.cmd.Process.Signal(unix.SIGTERM))
	l.end()
	assert.Contains(t, w.said(t), "Your plan has ended. Ring the clinic: zero two zero. Nine one two. Zero four five six.")
	for _, e := range w.log(t) {
		assert.NotEqual(t, "session_start", e.Kind)
		assert.NotEqual(t, "shutdown", e.Kind, "no session was going on")
	}
}

// A program that is told to end in a session says so in its log, and says the
// same aloud when it is back; a power cut is told as one.
func TestAProgramThatIsToldToEndSaysSo(t *testing.T) {
	t.Parallel()
	w := atHome(t, homePlan(-1, 1))
	for _, c := range []struct {
		signal unix.Signal
		says   string
		kinds  map[string]int
	}{
		{unix.SIGTERM, "This station was switched off during a session here.", map[string]int{"shutdown": 1, "fault": 0}},
		{unix.SIGKILL, "The power went off during a session here.", map[string]int{"shutdown": 0, "fault": 1}},
	} {
		l := w.start(t)
		f := w.follow(t, l)
		rep := f.until("rep", killPace, func() { l.press("plus", "tap") })
		require.NoError(t, l.cmd.Process.Signal(c.signal))
		l.end()
		after := w.log(t)
		if c.signal == unix.SIGTERM {
			assert.Equal(t, "shutdown", after[len(after)-1].Kind)
			assert.Equal(t, rep.Session, after[len(after)-1].Session)
			assert.True(t, l.cmd.ProcessState.Exited() && l.cmd.ProcessState.ExitCode() == 0, "it ends well: %s", w.stderr.String())
		}
		l = w.start(t)
		f = w.follow(t, l)
		f.until("press", killPace, func() { l.press("minus") })
		time.Sleep(killPace)
		require.NoError(t, l.cmd.Process.Kill())
		l.end()
		said := w.said(t)
		assert.Contains(t, said, c.says)
		counts := map[string]int{}
		for _, e := range w.log(t) {
			counts[e.Kind]++
		}
		for kind, n := range c.kinds {
			assert.Equal(t, n, counts[kind], "%s after %v: %s", kind, c.signal, fmt.Sprint(counts))
		}
		w.forget(t)
	}
}

// forget puts the log away, for a station that begins anew.
func (w *wall) forget(t *testing.T) { require.NoError(t, os.RemoveAll(w.data)) }
