package desk_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/link"
	"evenbell/coach/plan"
)

// visits is somebody who did their curls well on so many days, two days apart.
func visits(t *testing.T, n int) (*clinic, *device) {
	c := newClinic(t)
	c.patient("K4", store.Record{Wanted: 2})
	bay := c.enrolled("Bay 3")
	c.approved("K4", curl+heel)
	for i := range n {
		bay.session("s"+string(rune('1'+i)), "K4", curls(kilograms(2000), 10))
		bay.upload()
		c.pass(48 * time.Hour)
	}
	return c, bay
}

func (c *clinic) review() *desk.Reviewed {
	r, err := c.Review(ctx, okafor, "K4", "", "")
	require.NoError(c.t, err)
	return r
}

func TestFromProposalToNextPlan(t *testing.T) {
	c, _ := visits(t, 3)
	r := c.review()
	require.Len(t, r.Log.Sessions, 3)
	assert.False(t, r.Log.Sessions[0].Doubtful, "%v", r.Log.Sessions[0].Marks)
	require.Len(t, r.Proposals, 1, "the heel raise was never done")
	p := r.Proposals[0]
	require.Equal(t, "biceps-curl", p.Proposal.Exercise)
	require.NotEqual(t, p.Proposal.From, p.Proposal.To, "%+v", p.Proposal)
	assert.Equal(t, "s3", p.Told)
	assert.Len(t, r.Trends["biceps-curl"], 3)

	_, err := c.Decide(ctx, okafor, "K4", "biceps-curl", "s2", store.Accepted, coach.Dose{}, "")
	assert.ErrorIs(t, err, desk.ErrChanged, "it looked at an older session")
	_, err = c.Decide(ctx, okafor, "K4", "biceps-curl", "s3", store.Declined, coach.Dose{}, "")
	refused(t, err, "say why")
	too := p.Proposal.From
	too.Reps = 1000
	_, err = c.Decide(ctx, okafor, "K4", "biceps-curl", "s3", store.Changed, too, "strong")
	assert.ErrorAs(t, err, &desk.Faulty{}, "the protocol holds for staff, too")
	_, err = c.Decide(ctx, okafor, "K4", "heel-raise", "", store.Accepted, coach.Dose{}, "")
	assert.ErrorIs(t, err, desk.ErrNotFound)

	v, err := c.Decide(ctx, okafor, "K4", "biceps-curl", "s3", store.Declined, coach.Dose{}, "let us wait")
	require.NoError(t, err)
	require.NoError(t, c.Undo(ctx, okafor, v.ID))
	assert.Nil(t, c.review().Proposals[0].Decision)
	_, err = c.Decide(ctx, okafor, "K4", "biceps-curl", "s3", store.Accepted, coach.Dose{}, "")
	require.NoError(t, err)
	require.NotNil(t, c.review().Proposals[0].Decision)

	rx, checked, err := c.NextPlan(ctx, lind, "K4")
	require.NoError(t, err)
	require.NotNil(t, checked.Plan, "%v", checked.Faults)
	curl, heel := checked.Plan.Patients[0].Items[0], checked.Plan.Patients[0].Items[1]
	assert.Equal(t, p.Proposal.To, curl.Dose)
	assert.Equal(t, coach.Done{Load: kilograms(2000), Reps: 10}, curl.Last)
	assert.Equal(t, coach.WordsBrief, curl.Words, "done three times")
	assert.Equal(t, coach.Words(""), heel.Words)
	assert.Equal(t, coach.Day("2026-03-08"), checked.Plan.Day)
	assert.Equal(t, coach.Day("2026-03-14"), checked.Plan.Until)

	require.NotNil(t, c.review().Proposals[0].Decision, "a draft uses nothing up")
	_, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.NoError(t, err)
	refused(t, c.Undo(ctx, okafor, c.review().Proposals[0].Decision.ID), "in an approved plan already")
	assert.Len(t, c.review().Since, 1, "%v", c.review().Since)
	assert.Contains(t, c.review().Since[0], "was 10 with 2 kg")
}

// A plan approved again for the next weeks, nothing else changed, names the one
// it came from.
func TestApprovedAgainNamesItsParent(t *testing.T) {
	c, _ := visits(t, 1)
	p, err := c.store.PatientByTag(ctx, "K4")
	require.NoError(t, err)
	before, err := c.store.InForce(ctx, p.ID)
	require.NoError(t, err)
	s, err := c.FromLast(ctx, okafor, "K4")
	require.NoError(t, err)
	rx, checked, err := c.Draft(ctx, okafor, "K4", s.Text)
	require.NoError(t, err)
	rx, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.NoError(t, err)
	pl, _ := plan.Read("plan", []byte(rx.Text), nil)
	require.NotNil(t, pl)
	assert.Equal(t, before.Fingerprint, pl.Approval.Parent)
	assert.NotEqual(t, before.Fingerprint, pl.Approval.SHA256)
}

// Nothing goes up after a stop until a supervisor has cleared the hold.
func TestStopKeepsTheDoseUntilItIsCleared(t *testing.T) {
	c, bay := visits(t, 3)
	bay.add(coach.Entry{Kind: coach.EntrySessionStart, Session: "s9", Tag: "K4", Data: &coach.SessionStartData{Speed: "1", Part: coach.Whole}},
		coach.Entry{Kind: coach.EntryStop, Session: "s9", Tag: "K4"},
		coach.Entry{Kind: coach.EntrySessionEnd, Session: "s9", Tag: "K4", Data: &coach.SessionEndData{Outcome: coach.Stopped}})
	bay.upload()
	c.pass(time.Hour)
	p := c.review().Proposals[0].Proposal
	assert.Equal(t, dose.RuleSymptom, p.Rule)
	assert.Equal(t, p.From, p.To)
	holds, err := c.store.OpenHolds(ctx)
	require.NoError(t, err)
	require.Len(t, holds, 1)
	_, err = c.AcceptHolds(ctx, lind, "K4")
	assert.ErrorIs(t, err, desk.ErrDenied)
	accepted, err := c.AcceptHolds(ctx, okafor, "K4")
	require.NoError(t, err)
	assert.Len(t, accepted, 1)
	_, err = c.Clear(ctx, okafor, holds[0].ID, "a cramp in the calf")
	require.NoError(t, err)
	assert.NotEqual(t, dose.RuleSymptom, c.review().Proposals[0].Proposal.Rule)
}

// An admission stands against every rise until a supervisor says otherwise.
func TestAdmissionWaitsForASupervisor(t *testing.T) {
	c, _ := visits(t, 3)
	p, err := c.store.PatientByTag(ctx, "K4")
	require.NoError(t, err)
	up := c.review().Proposals[0].Proposal
	_, err = c.ChangePatient(ctx, okafor, "K4", p.Version, func(p *store.Patient) error {
		p.Record.Admissions = []coach.Day{"2026-03-07"}
		return nil
	})
	require.NoError(t, err)
	assert.NotEqual(t, up.Rule, c.review().Proposals[0].Proposal.Rule)
	require.NoError(t, c.ClearEvents(ctx, okafor, "K4", "seen on the ward, well"))
	refused(t, c.ClearEvents(ctx, okafor, "K4", ""), "say why")
}

// A boot without a clock is dated by its contact with the desk.
func TestReviewOfALogWithoutAClock(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	c.approved("K4", curl)
	bay := c.enrolled("Bay 3")
	bay.clockless = true
	bay.session("s1", "K4", curls(kilograms(2000), 10))
	bay.upload()
	require.True(t, c.review().Log.Sessions[0].Start.IsZero())
	begun := c.time()
	c.pass(time.Hour)
	bay.says(link.Status{Contact: &link.Contact{Boot: bay.boot, MonoNS: bay.mono(c.time()), At: c.time(), WithinNS: int64(20 * time.Millisecond)}})
	s := c.review().Log.Sessions[0]
	assert.WithinDuration(t, begun, s.Start, time.Second)
	assert.False(t, s.Doubtful, "%v", s.Marks)

	require.NoError(t, c.Observed(ctx, lind, "K4", "biceps-curl", "s1"))
	assert.ErrorIs(t, c.Observed(ctx, lind, "K4", "biceps-curl", "s7"), desk.ErrNotFound)
	assert.ErrorIs(t, c.Observed(ctx, lind, "M2", "biceps-curl", "s1"), desk.ErrNotFound)
}

func TestSessionPage(t *testing.T) {
	c, _ := visits(t, 1)
	v, err := c.Session(ctx, lind, "s1")
	require.NoError(t, err)
	assert.Equal(t, "Bay 3", v.StationName)
	assert.NotEmpty(t, v.Entries)
	require.NotNil(t, v.Review)
	assert.Len(t, v.Review.Items, 1)
	_, err = c.Session(ctx, lind, "nothing")
	assert.ErrorIs(t, err, desk.ErrNotFound)
}
