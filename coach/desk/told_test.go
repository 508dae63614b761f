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
	"evenbell/coach/screening"
)

// loaded is a clinic in which a station has the plan of K4.
func loaded(t *testing.T) (*clinic, *device, store.Prescription) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	bay := c.enrolled("Bay 3")
	rx := c.approved("K4", row+heel)
	c.pass(time.Minute)
	_, err := c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)
	require.Empty(t, bay.state().Holds)
	c.pass(time.Minute)
	return c, bay, rx
}

// against is what the day says against the plan of K4.
func (c *clinic) against() string {
	day, err := c.Day(ctx, lind, "2026-03-02")
	require.NoError(c.t, err)
	if day.Comers[0].Against != "" {
		assert.Equal(c.t, desk.Outdated, day.Comers[0].State)
	}
	return day.Comers[0].Against
}

func held(t *testing.T, bay *device) link.Hold {
	all := bay.state().Holds
	require.Len(t, all, 1)
	assert.Equal(t, "K4", all[0].Tag)
	assert.Equal(t, link.HeldStaff, all[0].Reason)
	assert.Negative(t, all[0].ID, "it is no hold of the store's")
	return all[0]
}

func TestNotTodayAfterThePlanWasLoaded(t *testing.T) {
	c, bay, _ := loaded(t)
	told, stop := c.link.Watch(bay.peer)
	defer stop()
	unwell, yes, no := false, true, false
	well := screening.Today{Well: &yes, NewSymptoms: &no, TabletsTaken: &yes, SprayAtHand: &yes, Admitted: &no}
	_, err := c.Screen(ctx, lind, "K4", screening.Today{Well: &unwell})
	require.NoError(t, err)
	select {
	case <-told:
	default:
		t.Error("the station is told at once")
	}
	first := held(t, bay)
	assert.Contains(t, c.against(), "not today")

	c.pass(time.Hour)
	ask := well
	ask.TabletsTaken = &no
	_, err = c.Screen(ctx, lind, "K4", ask)
	require.NoError(t, err)
	held(t, bay)
	assert.Contains(t, c.against(), "ask the supervisor")
	c.pass(time.Second)
	_, err = c.Load(ctx, okafor, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)
	assert.Empty(t, bay.state().Holds, "a supervisor has loaded it once more")
	assert.Empty(t, c.against())

	_, err = c.Screen(ctx, lind, "K4", screening.Today{Well: &unwell})
	require.NoError(t, err)
	assert.NotEqual(t, first.ID, held(t, bay).ID, "what a code by telephone cleared holds not for ever")
}

func TestApprovalTakenBackAfterThePlanWasLoaded(t *testing.T) {
	c, bay, rx := loaded(t)
	require.NoError(t, c.Withdraw(ctx, okafor, rx.ID))
	held(t, bay)
	assert.Equal(t, "the approval was taken back", c.against())
	c.approved("K4", row+heel)
	assert.Empty(t, bay.state().Holds, "the same doses were approved again")
}

func TestPrecautionAfterThePlanWasLoaded(t *testing.T) {
	c, bay, _ := loaded(t)
	p, err := c.store.PatientByTag(ctx, "K4")
	require.NoError(t, err)
	_, err = c.ChangePatient(ctx, okafor, "K4", p.Version, func(p *store.Patient) error {
		p.Record.Precautions = []coach.Precaution{{Kind: coach.ShoulderTrouble, Side: coach.Both}}
		return nil
	})
	require.NoError(t, err)
	held(t, bay)
	assert.Contains(t, c.against(), "record has changed")
}

func TestNewerPlanThanTheLoaded(t *testing.T) {
	c, bay, _ := loaded(t)
	c.approved("K4", heel)
	held(t, bay)
	assert.Equal(t, "a newer plan was approved", c.against())
	c.pass(time.Minute)
	_, err := c.Load(ctx, lind, "Bay 3", "2026-03-02", "K4")
	require.NoError(t, err)
	assert.Empty(t, bay.state().Holds)
	assert.Empty(t, c.against())
}

// A plan that its writer approved in the file needs no approval at the desk;
// the day's screening counts for everybody.
func TestPlanFileIsScreenedToo(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	text := planText("K4", "2026-03-02", curl) + "\n[approval]\nby = \"R. Okafor\"\nat = 2026-03-01T16:20:00Z\n"
	_, _, err := c.SendFile(ctx, console, "Bay 3", "k4.toml", []byte(text))
	require.NoError(t, err)
	require.Empty(t, bay.state().Holds)
	unwell := false
	_, err = c.Screen(ctx, lind, "K4", screening.Today{Well: &unwell})
	require.NoError(t, err)
	held(t, bay)
	_, notes, err := c.SendFile(ctx, console, "Bay 3", "k4.toml", []byte(text))
	require.NoError(t, err)
	var all []string
	for _, n := range notes {
		all = append(all, n.Message)
	}
	assert.Contains(t, strings.Join(all, "; "), "not today")
}
