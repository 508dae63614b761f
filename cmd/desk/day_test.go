package main

import (
	"encoding/json"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// twoItems is a plan for the days around today, so that midnight may pass.
func twoItems(tag string) string {
	now := time.Now()
	return `format = "day-plan/1"
day = ` + now.AddDate(0, 0, -1).Format(time.DateOnly) + `
until = ` + now.AddDate(0, 0, 1).Format(time.DateOnly) + `
clinic = "Quayside Heart Health"
unit = "kg"
[approval]
by = "R. Okafor"
at = 2026-03-01T16:20:00Z
[[patient]]
tag = "` + tag + `"
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
`
}

func (h *house) send(station, tag string) {
	file := filepath.Join(h.t.TempDir(), "plan.toml")
	require.NoError(h.t, os.WriteFile(file, []byte(twoItems(tag)), 0o600))
	require.Contains(h.t, h.run("", "desk", "plan", "send", "--data", h.data, "--station", station, file), tag)
}

// entries are the lines of the log that the desk has.
func (h *house) entries() []string {
	out := strings.TrimSpace(h.run("", "desk", "export", "--data", h.data, "--what", "entries", "--format", "jsonl"))
	if out == "" {
		return nil
	}
	return strings.Split(out, "\n")
}

func countKind(lines []string, kind string) int {
	n := 0
	for _, l := range lines {
		var e struct{ Kind string }
		if json.Unmarshal([]byte(l), &e) == nil && e.Kind == kind {
			n++
		}
	}
	return n
}

// A day with the real programs: a station is let in, gets its plan, coaches two
// sessions two hundred times as fast as life, in the second of which somebody
// presses the red button; staff go there, close it, free the place and clear
// the hold, and the incident is exported.
func TestADayThroughTheRealPrograms(t *testing.T) {
	h := newHouse(t)
	h.run("three plain words here\n", "desk", "user", "add", "--data", h.data, "--name", "R. Okafor", "--role", "supervisor", "--password-stdin")
	h.serve()
	w := h.mount("Bay 3", 200)
	h.send("Bay 3", "K4")
	w.start()

	assert.Contains(t, w.until("session_end", "plus", "tap"), `"completed"`)
	w.until("rep", "plus", "tap")
	w.until("stop", "stop")

	page := h.post("/login", url.Values{"name": {"R. Okafor"}, "password": {"three plain words here"}})
	require.NotContains(t, page, "name or the password is wrong")
	id := ""
	wait(t, "the stop on the page", func() bool {
		at := regexp.MustCompile(`/attentions/(\d+)`).FindStringSubmatch(h.get("/now"))
		if at != nil {
			id = at[1]
		}
		return at != nil
	})
	h.post("/attentions/"+id+"/going", nil)
	assert.Contains(t, w.until("help"), `"R. Okafor"`)
	h.post("/attentions/"+id+"/release", url.Values{"looked": {"yes"}})
	assert.Contains(t, w.until("release"), `"R. Okafor"`)
	h.post("/attentions/"+id+"/close", url.Values{"done": {"sat down, pressure 130/80"}, "ended": {"well after five minutes"}})
	hold := regexp.MustCompile(`/holds/(\d+)`).FindStringSubmatch(h.get("/now"))
	require.NotNil(t, hold, "freeing the place leaves the hold")
	h.post("/holds/"+hold[1]+"/clear", url.Values{"sure": {"yes"}, "note": {"pulled a muscle"}})
	assert.Contains(t, w.until("clear"), `"R. Okafor"`)
	wait(t, "the whole log at the desk", func() bool { return len(h.entries()) >= countOf(w, "clear") })
	w.halt()
	sessions := strings.Split(strings.TrimSpace(h.run("", "desk", "export", "--data", h.data, "--what", "sessions", "--format", "jsonl", "--tag", "K4")), "\n")
	require.GreaterOrEqual(t, len(sessions), 2)
	assert.Contains(t, sessions[0], "completed")
	assert.Contains(t, sessions[len(sessions)-1], "stop") // a slow machine may coach more before the button is pressed
	assert.Equal(t, 1, countKind(h.entries(), "stop"))
	incident := h.run("", "desk", "export", "--data", h.data, "--what", "incident", "--format", "jsonl", "--tag", "K4")
	for _, part := range []string{`"holds":true`, "pressure 130/80", "pulled a muscle", "R. Okafor"} {
		assert.Contains(t, incident, part)
	}
	assert.NotContains(t, incident, `"holds":false`)
	assert.Contains(t, h.run("", "desk", "export", "--data", h.data, "--what", "patient", "--tag", "K4", "--format", "fhir"), `"Bundle"`)
	assert.Regexp(t, `^whole: \d+ lines\n$`, h.run("", "desk", "audit", "verify", "--data", h.data))
	h.stop()
}

// countOf is how many entries the station's log has up to its last of a kind.
func countOf(w *wall, kind string) int {
	n := 0
	for i, l := range w.lines() {
		if strings.Contains(l, `"kind":"`+kind+`"`) {
			n = i + 1
		}
	}
	return n
}
