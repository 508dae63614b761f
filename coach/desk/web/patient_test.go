package web

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
)

// evil is what must never run, in every place a page may put it.
const evil = `</title></textarea><script>alert(1)</script>"><img src=x onerror=alert(2)>' onfocus=alert(3) autofocus`

// seeAsText fails where what somebody typed became markup.
func seeAsText(t *testing.T, a answer) {
	t.Helper()
	assert.NotContains(t, a.body, "<script>alert")
	assert.NotContains(t, a.body, "<img src=x")
	assert.NotContains(t, a.body, `"><img`)
}

func TestAPatientIsAddedAndChanged(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	page := b.get("/patients/new")
	require.Equal(t, http.StatusOK, page.status, page.body)

	a := b.post("/patients/new", "tag", "K4", "name", "Ada Holm", "born", "1951-04-12", "wanted", "3", "guide", "both", "call", "heron",
		"pre.0.kind", "shoulder", "pre.0.side", "left", "pre.0.since", "2026-10-01", "event.0.day", "2026-09-01", "event.0.what", "Stent, two vessels",
		"condition.diabetes", "accepted", "condition.device", "yes", "condition.marfan", "no", "mets", "5,5", "also", "spray")
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	assert.Equal(t, "/patients/K4", a.to)
	p, err := c.store.PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
	assert.Equal(t, []coach.Precaution{{Kind: coach.ShoulderTrouble, Side: coach.Left, Since: "2026-10-01"}}, p.Record.Precautions)
	assert.Equal(t, []protocol.Key{protocol.Diabetes, protocol.Device}, p.Record.Screening.Conditions)
	assert.Equal(t, []protocol.Key{protocol.Diabetes}, p.Record.Screening.Accepted)
	assert.Equal(t, []protocol.Key{protocol.Marfan}, p.Record.Screening.Absent, "what has no answer was not asked")
	assert.InDelta(t, 5.5, *p.Record.Screening.METs, 0)
	assert.True(t, p.Record.Screening.SprayOrdered)

	// What the form shows is what it keeps.
	page = b.get("/patients/K4/record")
	require.Equal(t, http.StatusOK, page.status, page.body)
	for _, want := range []string{`value="Ada Holm"`, `value="1951-04-12"`, `value="Stent, two vessels"`, `value="5.5"`, `value="heron" selected`, `value="shoulder" selected`} {
		assert.Contains(t, page.body, want)
	}
	same, err := c.store.PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
	f := writeRecord(same)
	var again store.Patient
	readRecord(f, &again)
	require.True(t, f.ok(), "%v", f.Faults)
	assert.Equal(t, same.Record, again.Record)
}

// A day on which a device was put in says that it is there.
func TestADeviceWithADayIsThere(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	a := b.post("/patients/new", "tag", "K4", "name", "Ada Holm", "guide", "both", "device", "2026-09-01", "condition.device", "no")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "here it says that there is none")
	a = b.post("/patients/new", "tag", "K4", "name", "Ada Holm", "guide", "both", "device", "2026-09-01")
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	p, err := c.store.PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
	assert.Equal(t, []protocol.Key{protocol.Device}, p.Record.Screening.Conditions)
}

func TestNothingTypedIsLostToAFault(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	a := b.post("/patients/new", "tag", "K4", "name", evil, "born", "yesterday", "mets", "many", "pre.0.kind", "elbow", "event.0.day", "2026-09-01", "notes", evil)
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	for _, want := range []string{"is no day", "is no number", "is no precaution", "Say what happened", `value="yesterday"`, `value="many"`} {
		assert.Contains(t, a.body, want)
	}
	seeAsText(t, a)
	assert.Contains(t, a.body, "&lt;script&gt;alert(1)")
	_, err := c.store.PatientByTag(t.Context(), "K4")
	require.Error(t, err, "nothing was kept")
}

func TestWhoWasSlowerLosesNothing(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	require.Equal(t, http.StatusSeeOther, b.post("/patients/new", "tag", "K4", "name", "Ada Holm").status)
	p, err := c.store.PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
	was := []string{"was", "", "name", "Ada Holm", "notes", "from the first window"}
	was[1] = itoa(p.Version)
	require.Equal(t, http.StatusSeeOther, b.post("/patients/K4/record", was...).status)
	was[5] = "from the second window"
	a := b.post("/patients/K4/record", was...)
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "from the second window")
	assert.Contains(t, a.body, "Somebody else has changed this")
}

func TestAScreeningSaysWhatIsMissing(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	require.Equal(t, http.StatusSeeOther, b.post("/patients/new", "tag", "K4", "name", "Ada Holm").status)
	a := b.post("/patients/K4/screening", "well", "yes", "symptoms", "no", "tablets", "", "rest.systolic", "182", "rest.diastolic", "90", "pulse", "")
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	page := b.get("/patients/K4/screening")
	assert.Contains(t, page.body, "Missing:")
	assert.Contains(t, page.body, "heart rate at rest: not measured")
	assert.Contains(t, page.body, "Systolic pressure 182")

	a = b.post("/patients/K4/screening", "rest.systolic", "120", "pulse", "7000")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "the lower value is missing")
	assert.Contains(t, a.body, `value="7000"`)
}

func TestHomeSettings(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Supervisor)
	require.Equal(t, http.StatusSeeOther, b.post("/patients/new", "tag", "K4", "name", "Ada Holm").status)
	p, err := c.store.PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
	house := itoa(c.station("House").ID)
	a := b.post("/patients/K4/home", "was", itoa(p.Version), "at_home", "yes", "emergency", "Ring the bell at number nine.", "telephone", "", "equipment", "1 kg\nheavy\n")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "Choose the station that stands there, or none yet.")
	assert.Contains(t, a.body, "Write whom to ring")
	assert.Contains(t, a.body, "heavy")
	assert.Contains(t, a.body, "how many days of rest lie between two days with exercise: from 1 to 6")
	a = b.post("/patients/K4/home", "was", itoa(p.Version), "at_home", "yes", "emergency", "Ring the bell.", "telephone", "+44 1632 960001", "between", "7", "station", "77")
	require.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "This station is not let in any more")
	assert.Contains(t, a.body, "is no number to dial")
	assert.Contains(t, a.body, "a whole number from 1 to 6")
	a = b.post("/patients/K4/home", "was", itoa(p.Version), "at_home", "yes", "emergency", "Ring the bell at number nine.", "telephone", "01632 960001", "equipment", "1 kg\nband 1", "between", "1", "alone", "yes", "station", house)
	require.Equal(t, http.StatusSeeOther, a.status, a.body)
	p, err = c.store.PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
	assert.Equal(t, &store.Home{Station: c.station("House").ID, Emergency: "Ring the bell at number nine.", Telephone: "01632 960001", Alone: true, Equipment: []string{"1 kg", "band 1"}, DaysBetween: 1}, p.Record.Home)
	a = b.get("/patients/K4/plan/write?from=pier-chair")
	assert.Contains(t, a.body, "[patient.home]\ntelephone = &#34;01632 960001&#34;")
	assert.Contains(t, a.body, "days_between = 1")
	today, err := c.desk.Today(t.Context())
	require.NoError(t, err)
	assert.Contains(t, a.body, string(today.AddDays(27)), "four weeks are offered")
}
