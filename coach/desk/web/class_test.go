package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
	"evenbell/coach/screening"
)

// gym is a clinic with three people who have approved plans and may start
// today, and two stations.
func (c *clinic) gym() []string {
	c.t.Helper()
	yes, no, pulse, mets := true, false, 68.0, 6.5
	var tags []string
	for i, name := range []string{"Ada Holm", "Ben Okri", "Carla Nwosu"} {
		p, err := c.desk.AddPatient(c.t.Context(), c.as(store.Supervisor), store.Patient{Tag: fmt.Sprintf("K%d", i+1), Name: name,
			Record: store.Record{Screening: screening.Patient{Absent: screening.Beforehand, METs: &mets}}})
		require.NoError(c.t, err)
		c.planned(p.Tag, true)
		s, err := c.desk.Screen(c.t.Context(), c.as(store.Assistant), p.Tag, screening.Today{Well: &yes, NewSymptoms: &no, TabletsTaken: &yes,
			Admitted: &no, Rest: &screening.Pressure{Systolic: 128, Diastolic: 78}, HeartRate: &pulse})
		require.NoError(c.t, err)
		require.Equal(c.t, protocol.MayStart, s.Result.Verdict)
		tags = append(tags, p.Tag)
	}
	c.station("Bay 1")
	c.station("Bay 2")
	return tags
}

func TestAClassIsMadeLoadedAndMended(t *testing.T) {
	c := newClinic(t)
	c.gym()
	b := c.browser(store.Assistant)
	page := b.get("/classes/new").body
	assert.Contains(t, page, `value="K1" id="f-tag" checked`)

	// Nothing typed is lost to a fault.
	wrong := b.post("/classes", "begins", "25:99", "walk", "a while", "warm_up", "3", "cool_down", "3", "tag", "K2")
	require.Equal(t, http.StatusUnprocessableEntity, wrong.status)
	for _, want := range []string{`value="25:99"`, `value="a while"`, "no time of day", "whole seconds from 0 to 600", "Choose the stations", `value="K2" checked`} {
		assert.Contains(t, wrong.body, want)
	}

	stations, err := c.store.Stations(t.Context())
	require.NoError(t, err)
	first := fmt.Sprint(stations[0].ID)
	nowhere := b.post("/classes", "begins", "09:30", "walk", "10", "warm_up", "3", "cool_down", "3", "tag", "K1", "place", first, "positions-"+first, "mat")
	require.Equal(t, http.StatusUnprocessableEntity, nowhere.status)
	assert.Contains(t, nowhere.body, "No station chosen can be used for K1’s")
	begins := c.desk.Time().Add(-time.Minute)
	form := []string{"begins", begins.Format("15:04"), "walk", "10", "warm_up", "3", "cool_down", "3", "tag", "K1", "tag", "K2", "tag", "K3"}
	for _, s := range stations {
		id := fmt.Sprint(s.ID)
		form = append(form, "place", id, "positions-"+id, "standing", "positions-"+id, "seated", "loads-"+id, "dumbbell")
	}
	a := b.post("/classes", form...)
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	at := a.to
	page = b.get(at).body
	assert.Contains(t, page, "Carla Nwosu")
	assert.Contains(t, page, "not on the stations yet")
	assert.NotRegexp(t, `<strong>Bay \d</strong> [a-z]+-[a-z]`, page, "exercises stand there by name, not by id")
	picture := b.get(at + "/picture.svg")
	assert.Equal(t, "image/svg+xml", picture.header.Get("Content-Type"))
	assert.Contains(t, picture.body, "<title>Class timetable")

	require.Equal(t, http.StatusSeeOther, b.post(at+"/load").status)
	assert.Contains(t, b.get(at).body, "Sent to 2 stations.")
	for _, s := range stations {
		sp, err := c.store.PlanFor(t.Context(), s.ID)
		require.NoError(t, err)
		assert.NotEmpty(t, sp.Tags)
	}
	day := b.get("/day").body
	assert.Contains(t, day, "Class at "+begins.Format("15:04"))
	assert.Contains(t, day, "on its way to the station")

	assert.Equal(t, http.StatusUnprocessableEntity, b.post(at+"/late", "tag", "K2", "minutes", "soon").status)
	assert.Equal(t, at, b.post(at+"/late", "tag", "K2", "minutes", "5").to)
	assert.Contains(t, b.get(at).body, "K2 is late by 5 min")
	assert.Equal(t, at, b.post(at+"/left", "tag", "K3").to)

	// What was said of the gym is there for the next class.
	assert.Regexp(t, `name="walk"[^>]* value="10"`, b.get("/classes/new").body)
}

func TestPlansAreLoadedInOneGo(t *testing.T) {
	c := newClinic(t)
	c.gym()
	b := c.browser(store.Assistant)
	today := string(coach.DayOf(c.desk.Time()))
	a := b.post("/day/load", "on", today, "to-K1", "Bay 1", "to-K2", "Bay 2", "to-K3", "Bay 1")
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	page := b.get(a.to).body
	assert.Contains(t, page, "Sent to Bay 1 (K1, K3), Bay 2 (K2).")
	assert.Equal(t, 3, strings.Count(page, "on its way to the station"))

	// Once more changes nothing; somebody moving sends both stations anew.
	assert.Contains(t, b.get(b.post("/day/load", "on", today, "to-K1", "Bay 1", "to-K2", "Bay 2", "to-K3", "Bay 1").to).body, "nothing was sent")
	page = b.get(b.post("/day/load", "on", today, "to-K1", "Bay 1", "to-K2", "Bay 2", "to-K3", "Bay 2").to).body
	assert.Contains(t, page, "Sent to Bay 1 (K1), Bay 2 (K2, K3).")

	// Somebody held is left out and said so, whatever was chosen for them.
	c.stop("Bay 2", "K2")
	page = b.get(b.post("/day/load", "on", today, "to-K1", "Bay 1", "to-K2", "Bay 2", "to-K3", "Bay 2").to).body
	assert.Contains(t, page, "Sent to Bay 2 (K3).")
	assert.Contains(t, page, "Left out: K2, who is held until a supervisor clears it.")
	assert.Equal(t, "/day", b.get("/day/load").to)

	// Nothing chosen is lost where a station can't be sent to: an assistant
	// loads nobody about whom the supervisor is to be asked.
	_, err := c.desk.Screen(t.Context(), c.as(store.Assistant), "K1", screening.Today{})
	require.NoError(t, err)
	a = b.post("/day/load", "on", today, "to-K1", "Bay 2", "to-K2", "Bay 2", "to-K3", "Bay 2")
	assert.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "Not everything could be sent")
	assert.Contains(t, a.body, "a supervisor loads this plan")
	assert.Contains(t, a.body, "Left out: K2")
}

// A station in a home is offered for those who live there alone, and to no class.
func TestAStationInAHome(t *testing.T) {
	c := newClinic(t)
	c.gym()
	house := c.station("House")
	p, err := c.store.PatientByTag(t.Context(), "K2")
	require.NoError(t, err)
	_, err = c.desk.ChangePatient(t.Context(), c.as(store.Supervisor), "K2", p.Version, func(p *store.Patient) error {
		p.Record.Home = &store.Home{Station: house.ID, Telephone: "555 0100", Emergency: "Ring Ana."}
		return nil
	})
	require.NoError(t, err)
	c.planned("K2", true)
	b := c.browser(store.Assistant)
	page := b.get("/day").body
	assert.Equal(t, 1, strings.Count(page, ">House</option>"))
	assert.Contains(t, page, "<option selected>House</option>", "it is suggested")
	assert.NotContains(t, b.get("/classes/new").body, "House")
	today := string(coach.DayOf(c.desk.Time()))
	a := b.post("/day/load", "on", today, "to-K1", "House")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "House stands in the home of K2")
	require.Equal(t, http.StatusSeeOther, b.post("/day/load", "on", today, "to-K2", "House").status)
	sp, err := c.store.PlanFor(t.Context(), house.ID)
	require.NoError(t, err)
	assert.Contains(t, sp.Text, "[patient.home]")
}

func TestTheSoundCheckOpensTheDay(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Assistant)
	assert.Contains(t, b.get("/day").body, "nobody has checked today")
	assert.Equal(t, http.StatusUnprocessableEntity, b.post("/day/sound", "heard", "maybe").status)
	b.post("/day/sound", "heard", "no")
	page := b.get("/day").body
	assert.Contains(t, page, "not heard")
	assert.Contains(t, page, "Noted: the alarm was not heard.")
	b.post("/day/sound", "heard", "yes")
	assert.Contains(t, b.get("/day").body, "says Mo Lind")
	lines, err := c.store.AuditLines(t.Context(), store.AuditFilter{By: "Mo Lind"})
	require.NoError(t, err)
	var said []string
	for _, l := range lines {
		if l.Subject == "sound check" {
			said = append(said, l.Detail)
		}
	}
	assert.Equal(t, []string{"the page's alarm was not heard in the room", "the page's alarm was heard in the room"}, said)
	c.ahead.Store(int64(24 * time.Hour))
	assert.Contains(t, c.browser(store.Assistant).get("/day").body, "nobody has checked today", "each day anew")
}
