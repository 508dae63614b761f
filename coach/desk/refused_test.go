package desk_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// A station speaks with one voice.
func TestTwoVoicesOnOneStation(t *testing.T) {
	c := newClinic(t)
	c.enrolled("Bay 3")
	for tag, voice := range map[string]string{"K4": "de", "M2": "en"} {
		c.patient(tag, store.Record{})
		text := strings.Replace(planText(tag, "2026-03-02", curl), "[[patient]]", "voice = \""+voice+"\"\n[[patient]]", 1)
		rx, checked, err := c.Draft(ctx, lind, tag, text)
		require.NoError(t, err)
		require.NotNil(t, checked.Plan, "%v", checked.Faults)
		_, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
		require.NoError(t, err)
	}
	_, err := c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4", "M2")
	refused(t, err, `K4 is to hear the voice "de" and M2 the voice "en"`)
	_, err = c.Load(ctx, lind, "Bay 3", "2026-03-02", "M2")
	require.NoError(t, err)
}

// Tomorrow's plan does not take today's away.
func TestPlanOfTomorrowHidesNoneOfToday(t *testing.T) {
	c := newClinic(t)
	for _, tag := range []string{"K4", "M2"} {
		c.patient(tag, store.Record{})
		c.approved(tag, curl)
	}
	bay := c.enrolled("Bay 3")
	first, err := c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)
	_, err = c.Load(ctx, lind, "Bay 3", "2026-03-03", "M2")
	require.NoError(t, err)
	assert.Equal(t, first.Version, bay.state().Plan)
	assert.Equal(t, first.Version, c.seat("Bay 3").Plan.Version)
}

// Nobody hears whether a tag was k4 or K4.
func TestTagsAreHeardAlike(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	c.approved("K4", curl)
	bay := c.enrolled("Bay 3")
	_, err := c.AddPatient(ctx, okafor, store.Patient{Tag: "k4", Name: "Another"})
	refused(t, err, "another patient's")
	bay.add(coach.Entry{Kind: coach.EntryStop, Tag: "k4", Session: "s1"})
	require.NoError(t, bay.urgent())
	_, err = c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	refused(t, err, "is held")

	bad := strings.Repeat("no tag at all ", 100)
	bay.add(coach.Entry{Kind: coach.EntryStop, Tag: bad, Session: "s2"})
	require.NoError(t, bay.urgent())
	require.Len(t, c.needs(), 2)
	assert.LessOrEqual(t, len(c.needs()[1].Tag), 210, "a page has room for so much")
	all, err := c.Patients(ctx, lind, false, "")
	require.NoError(t, err)
	assert.Len(t, all, 1, "what is no tag is no patient")
}

func TestNamesThatStandForSomethingElse(t *testing.T) {
	c := newClinic(t)
	for _, name := range []string{"telephone", "Desk", "the desk", "command line, root", "R. Okafor\u202e", "R.\u0085Okafor"} {
		_, err := c.AddStaff(ctx, adair, name, store.Supervisor, "a long pass phrase")
		refused(t, err, "name")
	}
}

// A wrong clock deletes nothing.
func TestForgettingWaitsWhereTheDayJumped(t *testing.T) {
	c := newClinic(t)
	p := c.patient("K4", store.Record{})
	_, err := c.ChangePatient(ctx, okafor, "K4", p.Version, func(p *store.Patient) error { p.Left = "2026-03-01"; return nil })
	require.NoError(t, err)
	_, err = c.ChangeClinic(ctx, adair, func(v *desk.Clinic) error { v.Retention = 3650; return nil })
	require.NoError(t, err)
	look := func(at time.Time) []string {
		c.now = at
		tags, err := c.Retain(ctx)
		require.NoError(t, err)
		return tags
	}
	require.Empty(t, look(monday))
	wrong := time.Date(2099, 1, 1, 0, 0, 0, 0, time.UTC)
	assert.Empty(t, look(wrong))
	assert.Empty(t, look(wrong.Add(23*time.Hour)))
	assert.Empty(t, look(monday.Add(time.Hour)), "and back again")
	lines, err := c.Audit(ctx, adair, store.AuditFilter{By: "the desk"})
	require.NoError(t, err)
	assert.Len(t, lines, 2, "each jump is told once")
	assert.Empty(t, look(wrong))
	for day := range 2 {
		assert.Empty(t, look(wrong.AddDate(0, 0, day+1)))
	}
	assert.Equal(t, []string{"K4"}, look(wrong.AddDate(0, 0, 3)), "the days pass, so it is so")
}

// Who looks after the clinic can say that the day is right, the one they saw.
func TestForgettingGoesOnOnceTheDayIsConfirmed(t *testing.T) {
	c := newClinic(t)
	p := c.patient("K4", store.Record{})
	_, err := c.ChangePatient(ctx, okafor, "K4", p.Version, func(p *store.Patient) error { p.Left = "2026-03-01"; return nil })
	require.NoError(t, err)
	jumped := func() *desk.Jumped {
		got, err := c.ClockJumped(ctx, okafor)
		require.NoError(t, err)
		return got
	}
	_, err = c.ChangeClinic(ctx, adair, func(v *desk.Clinic) error { v.Retention = 30; return nil })
	require.NoError(t, err)
	_, err = c.Retain(ctx)
	require.NoError(t, err)
	require.Nil(t, jumped())
	refused(t, c.DayIsRight(ctx, adair, "2026-03-02"), "nothing to confirm")

	c.pass(90 * 24 * time.Hour) // the desk was off for a quarter of a year
	tags, err := c.Retain(ctx)
	require.NoError(t, err)
	require.Empty(t, tags)
	assert.Equal(t, &desk.Jumped{Was: "2026-03-02", Is: "2026-05-31", Waits: 3}, jumped())
	require.ErrorIs(t, c.DayIsRight(ctx, okafor, "2026-05-31"), desk.ErrDenied)
	require.ErrorIs(t, c.DayIsRight(ctx, adair, "2026-05-30"), desk.ErrChanged)
	require.NoError(t, c.DayIsRight(ctx, adair, "2026-05-31"))
	assert.Nil(t, jumped())
	tags, err = c.Retain(ctx)
	require.NoError(t, err)
	assert.Equal(t, []string{"K4"}, tags)
	lines, err := c.Audit(ctx, adair, store.AuditFilter{By: adair.Name})
	require.NoError(t, err)
	assert.Contains(t, lines[len(lines)-1].Detail, "the day was 2026-03-02 and is 2026-05-31: confirmed")
}

// Nobody who knocks while no station is awaited fills the audit trail.
func TestKnockingWithoutAnyCode(t *testing.T) {
	c := newClinic(t)
	_, err := c.link.Enrol(ctx, "a key", "192.0.2.7", func(string) bool { return false })
	require.ErrorIs(t, err, link.ErrCode)
	lines, err := c.Audit(ctx, adair, store.AuditFilter{By: "a device"})
	require.NoError(t, err)
	assert.Empty(t, lines)
}

// Who guesses at codes is refused without a look at them and without a line;
// who only mistypes has every try that a code bears.
func TestGuessingAtCodes(t *testing.T) {
	c := newClinic(t)
	asked := 0
	wrong := func(address string) error {
		asked = 0
		_, err := c.link.Enrol(ctx, "a key", address, func(string) bool { asked++; return false })
		return err
	}
	refusals := func() (n int) {
		lines, err := c.Audit(ctx, adair, store.AuditFilter{By: "a device"})
		require.NoError(t, err)
		for _, l := range lines {
			if strings.Contains(l.Detail, "refused") {
				n++
			}
		}
		return n
	}
	code := func(name string) string {
		code, _, _, err := c.Code(ctx, adair, name)
		require.NoError(t, err)
		return code
	}
	code("Bay 1")
	theirs := code("Bay 2")
	for range 4 {
		require.ErrorIs(t, wrong("192.0.2.66"), link.ErrCode)
		assert.Equal(t, 2, asked)
	}
	_, err := c.link.Enrol(ctx, "their key", "192.0.2.66", func(given string) bool { return given == theirs })
	require.NoError(t, err, "the fifth try")

	for i := range 10 {
		code(fmt.Sprint("Bay ", 3+i))
		require.ErrorIs(t, wrong("192.0.2.66"), link.ErrCode)
	}
	code("Bay 20")
	require.ErrorIs(t, wrong("192.0.2.66"), link.ErrTries)
	assert.Zero(t, asked)
	assert.Equal(t, 14, refusals())

	for i := range 26 {
		code(fmt.Sprint("Bay ", 21+i))
		require.ErrorIs(t, wrong(fmt.Sprint("198.51.100.", i)), link.ErrCode)
	}
	require.ErrorIs(t, wrong("203.0.113.1"), link.ErrTries, "all addresses together have a limit, too")
	assert.Equal(t, 40, refusals())
	c.pass(15 * time.Minute)
	theirs = code("Bay 60")
	_, err = c.link.Enrol(ctx, "another key", "192.0.2.66", func(given string) bool { return given == theirs })
	require.NoError(t, err)
}
