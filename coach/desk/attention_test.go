package desk_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

func (c *clinic) needs() []desk.Need {
	n, err := c.Now(ctx, lind)
	require.NoError(c.t, err)
	return n.Needs
}

// A stop comes on its own stream, then with the log, then the log again: one
// attention, one hold, with every step by name and time.
func TestStopFromButtonToClearing(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{Call: "heron"})
	bay, other := c.enrolled("Bay 3"), c.enrolled("Bay 4")
	watching, stop := context.WithCancel(ctx)
	defer stop()
	events := c.Watch(watching)

	bay.add(coach.Entry{Kind: coach.EntrySessionStart, Session: "s1", Tag: "K4", Data: &coach.SessionStartData{Speed: "1", Part: coach.Whole}})
	bay.add(coach.Entry{Kind: coach.EntryStop, Session: "s1", Tag: "K4"})
	pressed := c.time()
	at := journal.Position{Epoch: bay.epoch, Seq: bay.seq}
	c.pass(400 * time.Millisecond)
	require.NoError(t, bay.urgent())
	require.NoError(t, bay.urgent(), "it may come again")
	bay.add(coach.Entry{Kind: coach.EntryQuestion, Session: "s1", Tag: "K4", Data: &coach.QuestionData{ID: coach.QuestionSymptom, Answer: string(coach.SymptomChest)}})
	require.NoError(t, bay.urgent())
	bay.upload()

	needs := c.needs()
	require.Len(t, needs, 1)
	n := needs[0]
	assert.Equal(t, store.StopPressed, n.Reason)
	assert.Equal(t, "chest", n.Symptom)
	assert.Equal(t, "heron", n.Call)
	assert.Equal(t, "Bay 3", n.StationName)
	assert.Equal(t, at, n.Entry)
	assert.Equal(t, pressed, n.Raised)
	assert.Equal(t, pressed.Add(400*time.Millisecond), n.Delivered)
	assert.True(t, n.Held)
	assert.True(t, n.Loud)
	assert.Equal(t, desk.Event{Kind: desk.AttentionEvent, ID: n.ID, Station: "", Reason: store.StopPressed, Loud: true, At: c.time()}, <-events)

	require.Len(t, other.state().Holds, 1, "the tag is held everywhere")
	assert.Nil(t, other.state().Holds[0].Own)
	own := link.Position(at)
	assert.Equal(t, &own, bay.state().Holds[0].Own)

	assert.Nil(t, bay.state().Help, "nobody is coming yet")
	require.NoError(t, c.Shown(ctx, lind, n.ID))
	_, err := c.Acknowledge(ctx, lind, n.ID)
	require.NoError(t, err)
	assert.Nil(t, bay.state().Help, "seen is not going")
	_, err = c.Going(ctx, adair, n.ID)
	require.NoError(t, err)
	assert.Equal(t, &link.Help{For: own, By: "P. Adair", At: c.time()}, bay.state().Help)
	bay.add(coach.Entry{Kind: coach.EntryHelp, Tag: "K4", Data: &coach.HelpData{By: "P. Adair", Epoch: at.Epoch, Seq: at.Seq}})
	bay.upload()

	_, err = c.Close(ctx, lind, n.ID, "", "went home")
	refused(t, err, "say what was done")
	a, err := c.Close(ctx, lind, n.ID, "sat down, pressure taken", "well after five minutes, went home")
	require.NoError(t, err)
	assert.Equal(t, "M. Lind", a.AcknowledgedBy)
	assert.Equal(t, "P. Adair", a.GoingBy)
	assert.NotNil(t, a.Told)
	assert.NotNil(t, a.Shown)
	assert.Empty(t, c.needs())
	assert.Nil(t, bay.state().Help)

	held := bay.state().Holds
	require.Len(t, held, 1, "closing an attention clears no hold")
	require.NoError(t, c.Release(ctx, lind, n.ID))
	assert.Equal(t, own, bay.state().Release.Stop)
	require.Len(t, bay.state().Holds, 1, "nor does freeing the box")
	_, err = c.Clear(ctx, lind, held[0].ID, "seen")
	assert.ErrorIs(t, err, desk.ErrDenied)
	_, err = c.Clear(ctx, okafor, held[0].ID, " ")
	refused(t, err, "say why")
	_, err = c.Clear(ctx, okafor, held[0].ID, "examined, may go on")
	require.NoError(t, err)
	assert.Empty(t, bay.state().Holds)
	require.Len(t, bay.state().Clears, 1)
	assert.Equal(t, &own, bay.state().Clears[0].Own)
	assert.Empty(t, other.state().Clears)

	_, err = c.store.VerifyAudit(ctx)
	require.NoError(t, err)
}

func TestWhatHolds(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	question := func(id, answer string) coach.Entry {
		return coach.Entry{Kind: coach.EntryQuestion, Session: "s1", Tag: "K4", Data: &coach.QuestionData{ID: id, Answer: answer}}
	}
	for _, v := range []struct {
		entry  coach.Entry
		reason store.Reason
		holds  bool
	}{
		{question(coach.QuestionWell, coach.AnswerWell), "", false},
		{question(coach.QuestionWell, coach.AnswerNotWell), store.NotWell, true},
		{question(coach.QuestionSymptoms, coach.AnswerNotWell), store.NotWell, true},
		{question(coach.QuestionTablets, coach.AnswerNotWell), store.NotWell, true},
		{question(coach.QuestionWarmedUp, coach.AnswerNotWell), store.NotWell, false},
		{question(coach.QuestionAllRight, coach.AnswerNotWell), "", false},
		{question(coach.QuestionClosing, coach.AnswerNotWell), store.ClosingSymptom, true},
		{question("go_on", coach.AnswerNotWell), "", false},
		{coach.Entry{Kind: coach.EntryNoAnswer, Session: "s1", Tag: "K4", Data: &coach.NoAnswerData{Waiting: "ready"}}, store.NoAnswer, false},
		{coach.Entry{Kind: coach.EntryFault, Data: &coach.FaultData{Part: "speaker", Detail: "gone"}}, store.PartFailed, false},
		{coach.Entry{Kind: coach.EntryStop, Session: "s1", Tag: "K4"}, store.StopPressed, true},
		{coach.Entry{Kind: coach.EntryPause, Session: "s1", Tag: "K4"}, "", false},
	} {
		needs, holds := len(c.needs()), len(bay.state().Holds)
		bay.add(v.entry)
		bay.upload()
		got := c.needs()
		if v.reason == "" {
			assert.Len(t, got, needs, "%v", v.entry)
		} else if assert.Len(t, got, needs+1, "%v", v.entry) {
			var raised bool
			for _, n := range got {
				raised = raised || n.Reason == v.reason && n.Entry.Seq == bay.seq
			}
			assert.True(t, raised, "%v raises %s", v.entry, v.reason)
		}
		more := 0
		if v.holds {
			more = 1
		}
		assert.Len(t, bay.state().Holds, holds+more, "%v", v.entry)
	}
}

// What a station brings back after a week is seen with its true time, and
// sounds nothing.
func TestOldStopIsSeenAndNotSounded(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Home of K4")
	bay.add(coach.Entry{Kind: coach.EntryStop, Session: "s1", Tag: "K4"})
	pressed := c.time()
	c.pass(7 * 24 * time.Hour)
	require.NoError(t, bay.urgent())
	bay.upload()
	needs := c.needs()
	require.Len(t, needs, 1)
	assert.WithinDuration(t, pressed, needs[0].Raised, time.Second)
	assert.False(t, needs[0].Loud)
	assert.True(t, needs[0].Held)
}

func TestTelephoneCode(t *testing.T) {
	c := newClinic(t)
	home := c.enrolled("Home of K4")
	home.add(coach.Entry{Kind: coach.EntryStop, Session: "s1", Tag: "K4"})
	home.upload()
	n, err := c.Now(ctx, okafor)
	require.NoError(t, err)
	require.Len(t, n.Holds, 1)
	_, err = c.TelephoneCode(ctx, lind, n.Holds[0].ID, "Home of K4", "talked to them")
	assert.ErrorIs(t, err, desk.ErrDenied)
	first, err := c.TelephoneCode(ctx, okafor, n.Holds[0].ID, "Home of K4", "talked to them")
	require.NoError(t, err)
	st, err := c.store.StationByName(ctx, "Home of K4")
	require.NoError(t, err)
	want := link.TelephoneCode(st.Secret, "K4", 1)
	assert.Equal(t, want[:], first)
	again, err := c.TelephoneCode(ctx, okafor, n.Holds[0].ID, "Home of K4", "they did not hear it")
	require.NoError(t, err)
	assert.NotEqual(t, first, again, "each is good once")
	n, err = c.Now(ctx, okafor)
	require.NoError(t, err)
	assert.Empty(t, n.Holds)
}

func TestLogThatDoesNotFit(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	bay.add(coach.Entry{Kind: coach.EntryStop, Session: "s1", Tag: "K4"})
	forged := bay.log[1]
	forged.Line = []byte(`{"epoch":"` + bay.epoch + `","seq":2,"kind":"x"`)
	_, err := c.link.Append(ctx, bay.peer, link.Batch{Epoch: bay.epoch, Records: []journal.Record{bay.log[0], forged}})
	assert.ErrorIs(t, err, link.ErrChain)
	needs := c.needs()
	require.Len(t, needs, 1)
	assert.Equal(t, store.LogDamaged, needs[0].Reason)
	mark, err := c.link.Append(ctx, bay.peer, link.Batch{Epoch: bay.epoch, After: 1, Before: bay.log[0].Hash, Records: bay.log[1:]})
	require.NoError(t, err)
	assert.Zero(t, mark.Seq, "a gap takes nothing, and says from where to send")
}
