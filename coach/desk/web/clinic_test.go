package web

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
)

func TestTheClinicsSettings(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Admin)
	a := b.post("/clinic/settings", "name", evil, "zone", "Mars/Olympus", "unit", "kg", "voice", "en", "owned", "heavy things", "retention", "soon")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, `value="heavy things"`)
	assert.Contains(t, a.body, `value="soon"`)
	seeAsText(t, a)
	a = b.post("/clinic/settings", "name", "Harbour Street", "zone", "Mars/Olympus", "unit", "kg", "voice", "en", "retention", "30")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "is no time zone")
	a = b.post("/clinic/settings", "name", "Harbour Street", "zone", "Europe/London", "unit", "lb", "voice", "en", "owned", "2, 5 lb; band 1", "telephone", "01632 960002", "emergency", "Call 999.", "retention", "365")
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	got, err := c.desk.Clinic(t.Context())
	require.NoError(t, err)
	assert.Equal(t, desk.Clinic{Name: "Harbour Street", Zone: "Europe/London", Unit: coach.Pound, Voice: "en", Owned: "2, 5 lb; band 1", Telephone: "01632 960002", Emergency: "Call 999.", Retention: 365}, got)
	assert.Equal(t, http.StatusForbidden, c.browser(store.Supervisor).get("/clinic/settings").status)
}

func TestStaffAreAddedAndChanged(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Admin)
	a := b.post("/clinic/staff", "name", "Ines Pohl", "role", "assistant", "password", "short")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, `value="Ines Pohl"`)
	assert.NotContains(t, a.body, `value="short"`, "a password never comes back")
	require.Equal(t, http.StatusSeeOther, b.post("/clinic/staff", "name", "Ines Pohl", "role", "assistant", "password", password).status)
	require.Equal(t, http.StatusSeeOther, b.post("/clinic/staff/change", "do", "role", "of", "Ines Pohl", "role", "supervisor").status)
	m, err := c.store.StaffByName(t.Context(), "Ines Pohl")
	require.NoError(t, err)
	assert.Equal(t, store.Supervisor, m.Role)
	require.Equal(t, http.StatusSeeOther, b.post("/clinic/staff/change", "do", "disable", "of", "Ines Pohl").status)
	assert.Contains(t, b.get("/clinic/staff").body, "can’t log in")
	assert.Equal(t, http.StatusUnprocessableEntity, c.stranger().post("/login", "name", "Ines Pohl", "password", password).status)

	// One admin always stays.
	a = b.post("/clinic/staff/change", "do", "role", "of", staffed[store.Admin], "role", "assistant")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "only admin")
}

func TestOnesOwnPassword(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Assistant)
	a := b.post("/password", "old", password, "new", "a long enough sentence", "again", "another sentence")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "not the same")
	a = b.post("/password", "old", "not the one", "new", "a long enough sentence", "again", "a long enough sentence")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	a = b.post("/password", "old", password, "new", "a long enough sentence", "again", "a long enough sentence")
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	assert.Contains(t, b.get("/now").to, "/login", "all logins have ended")
	assert.Equal(t, http.StatusSeeOther, c.stranger().post("/login", "name", staffed[store.Assistant], "password", "a long enough sentence").status)
}

// A protocol of the clinic's own does nothing until a supervisor has signed it,
// and then judges.
func TestAProtocolIsWrittenAndSigned(t *testing.T) {
	c := newClinic(t)
	admin, super := c.browser(store.Admin), c.browser(store.Supervisor)
	text := string(protocol.Default().TOML())
	require.Contains(t, admin.get("/clinic/protocol/write").body, "rest-floor")
	wrong := strings.Replace(text, "\"rest-floor\"\nvalue = 30", "\"rest-floor\"\nvalue = 4", 1)
	require.NotEqual(t, text, wrong)
	a := admin.post("/clinic/protocol/write", "text", wrong)
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Regexp(t, `Line \d+, limit\.value`, a.body)
	assert.Contains(t, a.body, "value = 4\n")
	right := strings.Replace(text, "\"rest-floor\"\nvalue = 30", "\"rest-floor\"\nvalue = 45", 1)
	a = admin.post("/clinic/protocol/write", "text", right)
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	assert.Equal(t, http.StatusForbidden, admin.post(a.to+"/sign", "read", "yes").status)

	page := super.get(a.to)
	assert.Contains(t, page.body, "signed by nobody yet")
	assert.Contains(t, page.body, "45 s")
	require.Equal(t, http.StatusSeeOther, super.post(a.to+"/sign").status)
	p, err := c.desk.Protocol(t.Context())
	require.NoError(t, err)
	assert.InDelta(t, 30, p.Number(protocol.RestFloor), 0, "nobody said that they had read it")
	require.Equal(t, http.StatusSeeOther, super.post(a.to+"/sign", "read", "yes").status)
	p, err = c.desk.Protocol(t.Context())
	require.NoError(t, err)
	assert.InDelta(t, 45, p.Number(protocol.RestFloor), 0)
	assert.Contains(t, super.get("/clinic/protocol").body, "signed by R. Okafor")
}

func TestAnExerciseOfTheClinicsOwnGoesIntoAPlan(t *testing.T) {
	c := newClinic(t)
	b, super := c.browser(store.Admin), c.browser(store.Supervisor)
	a := b.post("/clinic/exercises/new", "id", "towel", "name", "", "set_up", evil, "region", "upper", "position", "seated", "first", "lift", "verbs", "biceps-curl/seated")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	for _, want := range []string{`id="f-id-fault"`, `id="f-name-fault"`, `id="f-muscle.0-fault"`, `id="f-sides-fault"`} {
		assert.Contains(t, a.body, want)
	}
	seeAsText(t, a)
	assert.Contains(t, a.body, "Decide what rules it out")
	fields := []string{"id", "own-towel-pull", "name", "towel pull", "set_up", "Sit tall. Hold the towel with both hands.", "care", "Keep your shoulders low.",
		"region", "upper", "muscle.0", "biceps", "muscle.1", "upper back", "position", "seated", "first", "lift", "sides", "both", "loads", "body", "loads", "band",
		"bars", "wrist", "bars_one_side", "shoulder", "verbs", "biceps-curl/seated", "dumbbells", "0"}
	a = b.post("/clinic/exercises/new", fields...)
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	got, err := c.desk.Clinic(t.Context())
	require.NoError(t, err)
	require.Len(t, got.Exercises, 1)
	e := got.Exercises[0]
	assert.Equal(t, []coach.Muscle{coach.Biceps, coach.UpperBack}, e.Muscles)
	assert.Equal(t, []coach.Bar{{Kind: coach.WristTrouble}, {Kind: coach.ShoulderTrouble, OneSided: true}}, e.Stages[0].Bars)
	a = b.post("/clinic/exercises/new", fields...)
	require.Equal(t, http.StatusUnprocessableEntity, a.status, "an id is given once")
	v := filled(t, b.get("/clinic/exercises/own-towel-pull").body)
	assert.Equal(t, "biceps-curl/seated", v.Get("verbs"))
	assert.Equal(t, []string{"body", "band"}, v["loads"])

	require.Equal(t, http.StatusSeeOther, super.post("/patients/new", "tag", "K4", "name", "Ada Holm").status)
	v = filled(t, super.get("/patients/K4/plan/write?from=nothing").body)
	assert.NotContains(t, super.get("/patients/K4/plan/write?from=nothing").body, "own-towel-pull", "it is offered once it is signed")
	for _, page := range []string{"/clinic", "/review", "/clinic/exercises"} {
		assert.Regexp(t, "exercise of our own waits|signed by nobody yet", super.get(page).body, page)
	}
	v.Set("i0.what", "own-towel-pull/own")
	v.Set("do", "keep")
	kept := super.postForm("/patients/K4/plan/write", v)
	require.Equal(t, http.StatusSeeOther, kept.status, "no work is lost")
	require.Regexp(t, `^/patients/K4/plan/write`, kept.to)
	page := super.get(kept.to).body
	assert.Contains(t, page, "waits for a supervisor")
	assert.Contains(t, page, "Towel pull, signed by nobody yet")
	c.signed("own-towel-pull")
	assert.Contains(t, super.get("/patients/K4/plan/write?from=nothing").body, "own-towel-pull")
	assert.NotContains(t, super.get("/clinic").body, "exercise of our own waits")
	kept = super.postForm("/patients/K4/plan/write", v)
	require.Equal(t, http.StatusSeeOther, kept.status, kept.body)
	require.Regexp(t, `^/plans/`, kept.to, super.get(kept.to).body)
	assert.Contains(t, super.get(kept.to).body, "Towel pull")
	require.Equal(t, http.StatusSeeOther, b.post("/clinic/exercises/own-towel-pull/remove").status)
	assert.Contains(t, super.get(kept.to).body, "Towel pull", "what was written keeps it")
}

func TestLegalHoldIsByTag(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Admin)
	require.Equal(t, http.StatusSeeOther, c.browser(store.Supervisor).post("/patients/new", "tag", "K4", "name", "Ada Holm").status)
	a := b.post("/records/keep", "tag", "Z9", "do", "keep")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, `value="Z9"`)
	require.Equal(t, http.StatusSeeOther, b.post("/records/keep", "tag", "K4", "do", "keep").status)
	page := b.get("/records").body
	assert.Contains(t, page, "K4 is on hold")
	assert.NotContains(t, page, "Ada Holm")
	require.Equal(t, http.StatusSeeOther, b.post("/records/keep", "tag", "K4", "do", "lift").status)
	assert.NotContains(t, b.get("/records").body, "K4 is on hold")
	lines := b.get("/clinic/audit?about=K4").body
	assert.Contains(t, lines, "legal hold")
}

// After a jump of the clock nothing is deleted, and whoever looks after the
// clinic can say on the page that the day is right.
func TestADayAfterAJumpIsConfirmed(t *testing.T) {
	c := newClinic(t)
	b, super := c.browser(store.Admin), c.browser(store.Supervisor)
	_, err := c.desk.ChangeClinic(t.Context(), c.as(store.Admin), func(s *desk.Clinic) error { s.Retention = 3650; return nil })
	require.NoError(t, err)
	assert.NotContains(t, b.get("/records").body, "Deleting waits")
	require.NoError(t, c.store.SetSetting(t.Context(), "retained", `{"day":"2020-01-02","waits":0}`))
	_, err = c.desk.Retain(t.Context())
	require.NoError(t, err)
	assert.Contains(t, b.get("/clinic").body, "nothing is deleted for now")
	assert.Contains(t, super.get("/records").body, "an admin can say so here")
	page := b.get("/records").body
	assert.Contains(t, page, "This desk’s day was 2 January 2020")
	require.Equal(t, http.StatusForbidden, super.post("/records/day", "day", "2020-01-02").status)
	assert.Equal(t, http.StatusConflict, b.post("/records/day", "day", "2020-01-02").status, "not the day that was looked at")
	day := between(t, page, `name="day" value="`, `"`)
	require.Equal(t, "/records", b.post("/records/day", "day", day).to)
	assert.NotContains(t, b.get("/records").body, "Deleting waits")
	assert.Contains(t, b.get("/clinic/audit").body, "confirmed, so deleting goes on")
}
