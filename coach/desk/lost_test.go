package desk_test

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// atWork runs the desk's own work in a bubble of virtual time, over a clock
// that follows it.
func atWork(t *testing.T, c *clinic) {
	start := time.Now()
	c.mu.Lock()
	c.virtual = func() time.Time { return monday.Add(time.Since(start)) }
	c.mu.Unlock()
	running, stop := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- c.Run(running) }()
	t.Cleanup(func() {
		stop()
		require.NoError(t, <-done)
	})
	synctest.Wait()
}

func (c *clinic) seat(name string) desk.StationNow {
	n, err := c.Now(ctx, lind)
	require.NoError(c.t, err)
	for _, s := range n.Stations {
		if s.Name == name {
			return s
		}
	}
	c.t.Fatalf("no station is named %s", name)
	return desk.StationNow{}
}

func exercising(tag string) link.Status {
	return link.Status{Session: &link.SessionStatus{ID: "s1", Tag: tag, Item: 1, Items: 8, Exercise: "biceps-curl", Set: 1, Rep: 3}}
}

// A station that falls silent is shown after five seconds, sounds after a
// minute if somebody exercises there, once, and not if nobody does.
func TestLostStation(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := newClinic(t)
		atWork(t, c)
		bay, spare, third := c.enrolled("Bay 3"), c.enrolled("Bay 4"), c.enrolled("Bay 5")
		for range 5 {
			bay.says(exercising("K4"))
			spare.says(link.Status{})
			third.says(link.Status{})
			time.Sleep(time.Second)
		}
		assert.True(t, c.seat("Bay 3").Online)
		assert.Equal(t, "K4", c.seat("Bay 3").Tag)
		assert.Equal(t, desk.Place{Phase: "set", Exercise: "biceps-curl", Item: 1, Of: 8, Set: 1, Rep: 3}, c.seat("Bay 3").Place)
		goes := func(d time.Duration) {
			for end := time.Now().Add(d); time.Now().Before(end); time.Sleep(time.Second) {
				third.says(link.Status{})
			}
		}
		goes(6 * time.Second)
		lost := c.seat("Bay 3")
		assert.False(t, lost.Online)
		require.NotNil(t, lost.Silent)
		assert.False(t, lost.Alarm)
		assert.Empty(t, c.needs())
		goes(55 * time.Second)
		assert.True(t, c.seat("Bay 3").Alarm)
		require.Len(t, c.needs(), 1, "one, for the station where somebody exercised")
		assert.Equal(t, store.LostStation, c.needs()[0].Reason)
		assert.Equal(t, "Bay 3", c.needs()[0].StationName)
		assert.True(t, c.needs()[0].Loud)
		goes(5 * time.Minute)
		require.Len(t, c.needs(), 1)
		bay.says(exercising("K4"))
		assert.Empty(t, c.needs(), "heard again, it closes itself")
		assert.True(t, c.seat("Bay 3").Online)
	})
}

func TestAllStationsLostIsOneNotice(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := newClinic(t)
		atWork(t, c)
		bays := []*device{c.enrolled("Bay 1"), c.enrolled("Bay 2"), c.enrolled("Bay 3")}
		for _, b := range bays {
			b.says(exercising("K4"))
		}
		time.Sleep(7 * time.Second)
		n, err := c.Now(ctx, lind)
		require.NoError(t, err)
		require.NotNil(t, n.AllLost)
		assert.Empty(t, n.Needs)
		time.Sleep(2 * time.Minute)
		require.Len(t, c.needs(), 1, "one for all three")
		assert.Contains(t, c.needs()[0].Symptom, "3 of them")
		bays[0].says(exercising("K4"))
		time.Sleep(2 * time.Second)
		n, err = c.Now(ctx, lind)
		require.NoError(t, err)
		assert.Nil(t, n.AllLost)
		for _, v := range n.Needs {
			assert.NotEmpty(t, v.StationName, "what stays is about the other two")
		}
	})
}

// Another process hands out a plan: the server's stations are told.
func TestChangeByAnotherProcess(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	running, stop := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- c.Run(running) }()
	defer func() { stop(); require.NoError(t, <-done) }()
	changed, unwatch := c.link.Watch(bay.peer)
	defer unwatch()
	for range 3 { // what is pending from the start
		select {
		case <-changed:
		case <-time.After(300 * time.Millisecond):
		}
	}
	beside := desk.New(desk.Config{Store: c.store, Now: c.time})
	require.NoError(t, beside.RenameStation(ctx, console, "Bay 3", "Bay 3", "the place by the window"))
	select {
	case <-changed:
	case <-time.After(30 * time.Second):
		t.Fatal("the station was not told")
	}
}
