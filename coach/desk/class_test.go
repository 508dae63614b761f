package desk_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/plan"
)

const gym = `format = "class/1"
begins = "10:05"
walk = 10
[warm_up]
capacity = 4
[cool_down]
capacity = 4
[[place]]
name = "Bay 1"
spoken = "the place by the window"
positions = ["standing"]
[[place]]
name = "Bay 2"
positions = ["standing", "seated"]
loads = ["dumbbell"]
[[patient]]
tag = "K4"
[[patient]]
tag = "M2"
[[patient]]
tag = "B7"
`

// inGym is a clinic with a class of three over two places, loaded.
func inGym(t *testing.T) (*clinic, store.Class, []*device) {
	c := newClinic(t)
	bays := []*device{c.enrolled("Bay 1"), c.enrolled("Bay 2")}
	for _, tag := range []string{"K4", "M2", "B7"} {
		c.patient(tag, store.Record{})
		c.approved(tag, curl+heel)
	}
	k, err := c.AddClass(ctx, lind, "2026-03-02", gym, 100*time.Millisecond)
	require.NoError(t, err)
	plans, err := c.LoadClass(ctx, lind, k.ID)
	require.NoError(t, err)
	require.Len(t, plans, 2)
	return c, k, bays
}

func (c *clinic) class(id int64) *desk.ClassView {
	v, err := c.Class(ctx, lind, id)
	require.NoError(c.t, err)
	return v
}

func (c *clinic) orderAt(bay *device) []string {
	p, err := c.link.Plan(ctx, bay.peer, bay.state().Plan)
	require.NoError(c.t, err)
	pl, faults := plan.Read("plan", []byte(p.Text), nil)
	require.NotNil(c.t, pl, "%v", faults)
	require.Equal(c.t, pl.Fingerprint(), pl.Approval.SHA256)
	return pl.Tags()
}

// at is when a patient is to arrive at a place, in seconds of the class.
func arrival(v *desk.ClassView, tag, place string) int {
	for j, who := range v.Problem.Patients {
		for _, s := range v.Timetable.Slots[j] {
			if who.Tag == tag && s.Place != circuit.Nowhere && v.Problem.Places[s.Place].Name == place {
				return s.Arrive
			}
		}
	}
	return -1
}

func TestClassIsLoadedAndRepaired(t *testing.T) {
	c, k, bays := inGym(t)
	v := c.class(k.ID)
	assert.True(t, v.Loaded)
	assert.Equal(t, -300, v.Now)
	assert.Equal(t, []string{"Bay 1", "Bay 2", "warm-up area", "cool-down area"}, v.Places)
	for _, bay := range bays {
		assert.Len(t, c.orderAt(bay), 3)
		next := bay.state().Next
		assert.Len(t, next, 3, "each is told where to go on to")
	}

	// The one who is to come first to Bay 2 is late: somebody else goes first.
	first := c.orderAt(bays[1])[0]
	before := bays[1].state().Plan
	c.pass(6 * time.Minute) // a minute into the class
	require.NoError(t, c.Late(ctx, lind, k.ID, first, 20*time.Minute))
	v = c.class(k.ID)
	assert.GreaterOrEqual(t, arrival(v, first, "Bay 2"), 60+20*60)
	assert.Greater(t, bays[1].state().Plan, before, "the station has a new order")
	assert.Equal(t, first, c.orderAt(bays[1])[2])
	require.Len(t, v.Notes, 1)
	assert.Contains(t, v.Notes[0], "10:06:00: "+first+" is late by 20 min; ends 10:")

	other := c.orderAt(bays[1])[0]
	require.NoError(t, c.Left(ctx, lind, k.ID, other))
	assert.NotContains(t, c.orderAt(bays[1]), other)
	assert.Equal(t, -1, arrival(c.class(k.ID), other, "Bay 2"))
	refused(t, c.Left(ctx, lind, k.ID, "nobody"), "is not in this class")
	refused(t, c.Late(ctx, lind, k.ID, first, -time.Second), "up to four hours")
}

// Whoever stops goes no further, and who is at work is not moved.
func TestClassGoesOnAroundAStop(t *testing.T) {
	c, k, bays := inGym(t)
	v := c.class(k.ID)
	stopper := c.orderAt(bays[0])[0]
	other := c.orderAt(bays[1])[0]
	require.NotEqual(t, stopper, other)
	c.pass(5*time.Minute + time.Duration(arrival(v, stopper, "Bay 1"))*time.Second)
	bays[0].says(link.Status{Session: &link.SessionStatus{ID: "s1", Tag: stopper, Item: 1}})
	bays[1].says(link.Status{Session: &link.SessionStatus{ID: "s2", Tag: other, Item: 1}})
	at := arrival(v, other, "Bay 2")
	c.pass(30 * time.Second)
	bays[0].add(coach.Entry{Kind: coach.EntryStop, Session: "s1", Tag: stopper})
	require.NoError(t, bays[0].urgent())
	require.NoError(t, c.WatchClasses(ctx))
	v = c.class(k.ID)
	require.Len(t, v.Notes, 1)
	assert.Contains(t, v.Notes[0], stopper+" is held and goes no further")
	assert.Equal(t, at, arrival(v, other, "Bay 2"), "at work, and not moved")
	assert.Equal(t, -1, arrival(v, stopper, "Bay 2"), "goes nowhere else")
}

func TestClassThatCannotBe(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	one := strings.Split(gym, "[[patient]]")[0] + "[[patient]]\ntag = \"K4\"\n"
	_, err := c.AddClass(ctx, lind, "2026-03-02", one, time.Millisecond)
	refused(t, err, "K4 has no approved plan")
	c.approved("K4", "[[patient.item]]\nexercise = \"bird-dog\"\nreps = 10\nload = \"body\"\n")
	_, err = c.AddClass(ctx, lind, "2026-03-02", one, time.Millisecond)
	var bad desk.Faulty
	require.ErrorAs(t, err, &bad)
	assert.Contains(t, bad.Faults[0].Message, "no place can host item 1, bird-dog")
	_, err = c.AddClass(ctx, lind, "2026-03-02", "format = \"class/1\"\n", time.Millisecond)
	require.ErrorAs(t, err, &bad)
	assert.Contains(t, fmt.Sprint(bad.Faults), "begins")
}
