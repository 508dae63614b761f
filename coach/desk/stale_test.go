package desk_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// A page that was opened for one stop frees nobody of a later one.
func TestReleaseIsForTheStopThatWasSeen(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	press := func(tag string) (desk.Need, link.Position) {
		bay.add(coach.Entry{Kind: coach.EntryStop, Tag: tag, Session: "of " + tag})
		require.NoError(t, bay.urgent())
		at := link.Position{Epoch: bay.epoch, Seq: bay.seq}
		bay.says(link.Status{Locked: &at})
		for _, n := range c.needs() {
			if n.Entry == journal.Position(at) {
				return n, at
			}
		}
		require.Fail(t, "no attention")
		return desk.Need{}, at
	}
	first, _ := press("A1")
	require.NoError(t, c.Release(ctx, lind, first.ID))
	bay.says(link.Status{})
	c.pass(10 * time.Minute)
	second, at := press("B2")
	assert.ErrorIs(t, c.Release(ctx, lind, first.ID), desk.ErrChanged)
	assert.NotEqual(t, at, bay.state().Release.Stop)
	require.NoError(t, c.Release(ctx, lind, second.ID))
	assert.Equal(t, at, bay.state().Release.Stop)
	assert.ErrorIs(t, c.Release(ctx, lind, 999), desk.ErrNotFound)
}

// One code told by telephone ends all that holds a tag, at the station and so
// at the desk.
func TestTelephoneCodeClearsAllHolds(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Home of K4")
	bay.add(coach.Entry{Kind: coach.EntryStop, Tag: "K4", Session: "s1"})
	require.NoError(t, bay.urgent())
	c.pass(time.Hour)
	bay.add(coach.Entry{Kind: coach.EntryQuestion, Tag: "K4", Session: "s2", Data: &coach.QuestionData{ID: coach.QuestionWell, Answer: coach.AnswerNotWell}})
	require.NoError(t, bay.urgent())
	bay.add(coach.Entry{Kind: coach.EntryStop, Tag: "M2", Session: "s3"})
	require.NoError(t, bay.urgent())
	require.Len(t, bay.state().Holds, 3)
	_, err := c.TelephoneCode(ctx, okafor, bay.state().Holds[0].ID, "Home of K4", "talked to them")
	require.NoError(t, err)
	left := bay.state().Holds
	require.Len(t, left, 1)
	assert.Equal(t, "M2", left[0].Tag)
	all, err := c.store.HoldsOf(ctx, "K4")
	require.NoError(t, err)
	assert.Contains(t, all[0].Note, "by the code that cleared hold")
}

// What is loud is told by how long the news was on its way, never by what the
// clock says later.
func TestLoudWhateverTheClocksSay(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	behind := monday.Add(-24 * time.Hour)
	bay.add(coach.Entry{Kind: coach.EntryStop, Tag: "A1", Session: "s1", Wall: &behind})
	u := bay.urgentNow()
	bay.upload()
	require.False(t, c.needs()[0].Loud, "by the station's wall clock it is a day old")
	require.NoError(t, c.link.Raise(ctx, bay.peer, u))
	n := c.needs()[0]
	assert.True(t, n.Loud, "its boot clock knows better")
	assert.WithinDuration(t, monday, n.Raised, time.Second)
	c.pass(20 * 365 * 24 * time.Hour)
	assert.True(t, c.needs()[0].Loud, "the desk's clock was set, and nobody has acknowledged it")
	_, err := c.Acknowledge(ctx, lind, n.ID)
	require.NoError(t, err)
	assert.False(t, c.needs()[0].Loud)
}

// urgentNow is the newest entry as the fast stream carries it, made now.
func (d *device) urgentNow() link.Urgent {
	r := d.log[len(d.log)-1]
	e, err := journal.ParseLine(r.Line)
	require.NoError(d.c.t, err)
	return link.Urgent{Line: r.Line, Entry: e, Boot: d.boot, MonoNS: e.MonoNS}
}

// A time that cannot be is nobody's own: neither a session of 2099 nor one of
// 1980 counts as the newest or the first.
func TestTimesThatCannotBe(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	bay.boot = "another boot, of which no contact is known"
	for i, wall := range []time.Time{time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(9999, 12, 31, 23, 0, 0, 0, time.UTC)} {
		bay.add(coach.Entry{Kind: coach.EntryStop, Tag: "A1", Session: "s1", Wall: &wall})
		u := bay.urgentNow()
		u.Boot = "another"
		require.NoError(t, c.link.Raise(ctx, bay.peer, u))
		n := c.needs()[i]
		assert.Equal(t, c.time(), n.Raised)
		assert.True(t, n.Loud, "who cannot tell must come")
	}
	bay.upload()
	for _, n := range c.needs() {
		assert.Equal(t, c.time(), n.Raised)
	}
	_, err := c.Now(ctx, lind)
	require.NoError(t, err)
}
