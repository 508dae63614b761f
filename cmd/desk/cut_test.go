package main

import (
	"encoding/json"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// cut ends the station as a power cut does.
func (w *wall) cut() {
	require.NoError(w.h.t, w.cmd.Process.Kill())
	_ = w.cmd.Wait()
	w.cmd = nil
	w.box.Close()
}

// The power goes in mid-session and comes back, twice. The station says once in
// its log which session that was; at the desk it stays one session, cut off, of
// which nothing is doubted, and one visit with the session that goes on with it.
func TestAPowerCutMakesNoSecondSession(t *testing.T) {
	h := newHouse(t)
	h.run("three plain words here\n", "desk", "user", "add", "--data", h.data, "--name", "R. Okafor", "--role", "supervisor", "--password-stdin")
	h.serve()
	w := h.mount("Bay 3", 200)
	h.send("Bay 3", "K4")
	w.start()
	var cut struct{ Session string }
	require.NoError(t, json.Unmarshal([]byte(w.until("rep", "plus", "tap")), &cut))
	w.cut()
	w.start()
	w.until("fault")
	w.cut()
	w.start()
	assert.Contains(t, w.until("session_end", "plus", "tap"), `"completed"`)
	wait(t, "the whole log at the desk", func() bool { return countKind(h.entries(), "session_end") == 1 })
	assert.Equal(t, 1, countKind(h.entries(), "fault"))

	out := h.run("", "desk", "export", "--data", h.data, "--what", "sessions", "--format", "jsonl", "--tag", "K4")
	type row struct {
		Session, Visit, Marks string
		Doubtful              bool
	}
	var sessions []row
	for line := range strings.Lines(out) {
		var s row
		require.NoError(t, json.Unmarshal([]byte(line), &s))
		sessions = append(sessions, s)
	}
	require.GreaterOrEqual(t, len(sessions), 2, "a third may have begun by what was pressed")
	assert.Equal(t, cut.Session, sessions[0].Session)
	assert.Equal(t, "cut off by a restart of the station", sessions[0].Marks)
	for _, s := range sessions[:2] {
		assert.False(t, s.Doubtful, s.Marks)
		assert.Equal(t, cut.Session, s.Visit)
	}
	h.post("/login", url.Values{"name": {"R. Okafor"}, "password": {"three plain words here"}})
	assert.Contains(t, h.get("/visits/"+cut.Session), "Cut off by a restart")
	for _, page := range []string{"/visits/" + cut.Session, "/sessions/" + cut.Session, "/review/K4", "/patients/K4/sessions"} {
		assert.NotContains(t, h.get(page), "beginning is missing", page)
	}
}
