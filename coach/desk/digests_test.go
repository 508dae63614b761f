package desk_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// A review made of digests is the one made of the whole log, and it is made of
// them.
func TestAReviewIsMadeOfDigests(t *testing.T) {
	c, bay := visits(t, 3)
	fromLog := c.review()
	require.NoError(t, c.Digest(ctx))
	by, err := desk.ThisProgram()
	require.NoError(t, err)
	again := desk.New(desk.Config{Store: c.store, Now: c.time}) // the desk was started anew
	fromDigests, err := again.Review(ctx, okafor, "K4", "", "")
	require.NoError(t, err)
	assert.Equal(t, fromLog, fromDigests)

	kept, err := c.store.Digests(ctx, by, "K4")
	require.NoError(t, err)
	require.Len(t, kept, 3)
	s2, err := c.store.Session(ctx, "s2")
	require.NoError(t, err)
	require.NoError(t, c.store.KeepDigests(ctx, by, []store.Digest{{Session: s2, Text: `{"Sessions":[]}`}}))
	again = desk.New(desk.Config{Store: c.store, Now: c.time})
	fromDigests, err = again.Review(ctx, okafor, "K4", "", "")
	require.NoError(t, err)
	assert.Len(t, fromDigests.Log.Sessions, 2, "the log was not read where there is a digest")

	bay.add(coach.Entry{Kind: coach.EntryRelease, Session: "s2", Data: &coach.ReleaseData{By: "R. Okafor"}})
	bay.upload()
	assert.Len(t, c.review().Log.Sessions, 3, "and it was where the session has changed since")
	require.NoError(t, c.Digest(ctx))
	kept, err = c.store.Digests(ctx, by, "K4")
	require.NoError(t, err)
	assert.Len(t, kept, 2, "nothing is kept of what may go on")
	c.pass(time.Hour)
	require.NoError(t, c.Digest(ctx))
	kept, err = c.store.Digests(ctx, by, "K4")
	require.NoError(t, err)
	assert.Len(t, kept, 3)
}

// What a station logs in the middle of a session that is of none, as that the
// desk was lost, is not missing from the session.
func TestWhatStandsInBetweenIsNotMissing(t *testing.T) {
	c, bay := visits(t, 3)
	bay.add(coach.Entry{Kind: coach.EntrySessionStart, Session: "s9", Tag: "K4", Data: &coach.SessionStartData{Speed: "1", Part: coach.Whole}},
		coach.Entry{Kind: coach.EntryLink, Data: &coach.LinkData{Desk: "lost"}},
		coach.Entry{Kind: coach.EntryHold, Tag: "B2", Data: &coach.HoldData{Reason: "stop"}},
		coach.Entry{Kind: coach.EntrySessionEnd, Session: "s9", Tag: "K4", Data: &coach.SessionEndData{Outcome: coach.Stopped}})
	bay.upload()
	all := c.review().Log.Sessions
	require.Len(t, all, 4)
	assert.Empty(t, all[3].Marks)
	v, err := c.Session(ctx, okafor, "s9")
	require.NoError(t, err)
	assert.Len(t, v.Entries, 4, "the page shows what stands between, too")
}

// That the power went is known once the station has started again, and the
// review made before is not shown any more.
func TestAPowerCutIsKnownAfterTheNextStart(t *testing.T) {
	c, bay := visits(t, 1)
	bay.add(coach.Entry{Kind: coach.EntrySessionStart, Session: "s9", Tag: "K4", Data: &coach.SessionStartData{Speed: "1", Part: coach.Whole}})
	bay.upload()
	require.True(t, c.review().Log.Sessions[1].Doubtful)
	bay.start()
	bay.upload()
	cut := c.review().Log.Sessions[1]
	assert.False(t, cut.Doubtful, "%v", cut.Marks)
}
