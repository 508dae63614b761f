package desk_test

import (
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

// Nobody who knocks while no station is awaited fills the audit trail.
func TestKnockingWithoutAnyCode(t *testing.T) {
	c := newClinic(t)
	_, err := c.link.Enrol(ctx, "a key", func(string) bool { return false })
	require.ErrorIs(t, err, link.ErrCode)
	lines, err := c.Audit(ctx, adair, store.AuditFilter{By: "a device"})
	require.NoError(t, err)
	assert.Empty(t, lines)
}
