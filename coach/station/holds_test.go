package station

import (
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

const anEpoch = "0123456789abcdef0123456789abcdef"

// stopOf is a stop of a tag as it is made; its number comes later.
func stopOf(tag string, mono int64) coach.Entry {
	return coach.Entry{Kind: coach.EntryStop, Tag: tag, Session: "s", Boot: "boot", MonoNS: mono}
}

func placed(e coach.Entry, seq int64) coach.Entry {
	e.Epoch, e.Seq = anEpoch, seq
	return e
}

func own(seq int64) *link.Position { return &link.Position{Epoch: anEpoch, Seq: seq} }

// hears logs what the desk says, and gives it.
func (h *history) hears(s link.State) []coach.Entry {
	news := h.holds.news(s)
	for _, e := range news {
		h.add(e)
	}
	return news
}

func held(t *testing.T) *history {
	t.Helper()
	h := newHistory(time.UTC)
	e := stopOf("K4", 5)
	h.add(e)
	require.Equal(t, []string{"K4"}, h.holds.tags(), "at once, without the desk and before the disk")
	h.place(placed(e, 9))
	return h
}

func TestAnOwnHoldEndsOnlyByItsClear(t *testing.T) {
	h := held(t)
	assert.Empty(t, h.hears(link.State{}), "the desk has not heard of it yet")
	news := h.hears(link.State{Holds: []link.Hold{{ID: 3, Tag: "K4", Own: own(9)}}})
	require.Len(t, news, 1, "the desk's number for it is kept")
	assert.Empty(t, h.hears(link.State{Holds: []link.Hold{{ID: 3, Tag: "K4", Own: own(9)}}}), "once")
	assert.Empty(t, h.hears(link.State{}), "a desk put back from a backup has lost it; it holds on")
	require.Len(t, h.hears(link.State{Clears: []link.Clear{{ID: 3, Tag: "K4", By: "R. Okafor", Own: own(9)}}}), 1)
	assert.Empty(t, h.holds.tags())
	assert.Empty(t, h.hears(link.State{Holds: []link.Hold{{ID: 8, Tag: "K4", Own: own(9)}}}), "what was cleared does not come back")
	assert.Len(t, h.hears(link.State{Holds: []link.Hold{{ID: 8, Tag: "K4", Own: own(30)}}}), 1, "another stop does hold")
}

func TestAnothersHoldEndsWhenItIsNoLongerNamed(t *testing.T) {
	h := newHistory(time.UTC)
	one := link.State{Holds: []link.Hold{{ID: 3, Tag: "P7", Reason: link.HeldClosing}}}
	require.Len(t, h.hears(one), 1)
	assert.Empty(t, h.hears(one))
	assert.True(t, h.holds.on("P7"))
	require.Len(t, h.hears(link.State{}), 1)
	assert.False(t, h.holds.on("P7"))
	require.Len(t, h.hears(one), 1, "and holds again when it is named again")
	assert.True(t, h.holds.on("P7"))
}

// A code ends every hold the tag has here, also those the desk still names
// because it has not heard.
func TestATelephoneCodeEndsAllOfATagsHolds(t *testing.T) {
	h := held(t)
	h.hears(link.State{Holds: []link.Hold{{ID: 3, Tag: "K4"}, {ID: 4, Tag: "P7"}}})
	require.Equal(t, []string{"K4", "P7"}, h.holds.tags())
	h.add(coach.Entry{Kind: coach.EntryClear, Tag: "K4", Data: &coach.ClearData{By: coach.ByTelephone, Counter: 2}})
	assert.Equal(t, []string{"P7"}, h.holds.tags())
	assert.EqualValues(t, 2, h.counter)
	assert.Empty(t, h.hears(link.State{Holds: []link.Hold{{ID: 3, Tag: "K4"}, {ID: 4, Tag: "P7"}, {ID: 9, Tag: "K4", Own: own(9)}}}))
	assert.Equal(t, []string{"P7"}, h.holds.tags())
	codes := h.codes(make([]byte, 32))
	require.Len(t, codes, 1+link.TelephoneAhead)
	assert.EqualValues(t, 3, codes[0].Counter, "a used code is good no more")
	assert.Equal(t, "P7", codes[0].Tag)
}

// The state is a fold, so the log read anew gives the same.
func TestWhatTheStateRestsOnStaysInTheLog(t *testing.T) {
	h := held(t)
	stop := placed(stopOf("K4", 5), 9)
	assert.True(t, h.needs(stop))
	assert.True(t, h.needs(placed(stopOf("P7", 5), 9)), "while it is locked every stop stays")
	h.add(coach.Entry{Kind: coach.EntryRelease})
	assert.True(t, h.needs(stop), "released, and still held")
	assert.False(t, h.needs(placed(stopOf("P7", 5), 9)))
	assert.False(t, h.needs(placed(coach.Entry{Kind: coach.EntryRep, Tag: "K4"}, 10)))
	h.add(coach.Entry{Kind: coach.EntryClear, Tag: "K4", Data: &coach.ClearData{By: "R. Okafor", Epoch: anEpoch, Seq: 9}})
	assert.False(t, h.needs(stop))
}

func TestWrongCodesAreForgottenAfterAnHour(t *testing.T) {
	h := newHistory(time.UTC)
	wall := time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)
	minute := int64(time.Minute)
	h.add(coach.Entry{Kind: coach.EntryWrongCode, Boot: "old", MonoNS: 5 * minute, Wall: &wall})
	h.add(coach.Entry{Kind: coach.EntryWrongCode, Boot: "old", MonoNS: 6 * minute})
	for n := range int64(3) {
		h.add(coach.Entry{Kind: coach.EntryWrongCode, Boot: "now", MonoNS: n * minute})
	}
	at := func(mono int64, wall time.Time, trusted bool) int {
		return h.triesLeft("now", journal.Instant{Mono: mono, Wall: wall, Trusted: trusted})
	}
	assert.Equal(t, 0, at(3*minute, time.Time{}, false))
	assert.Equal(t, 1, at(3*minute, wall.Add(61*time.Minute), true), "the wall clock dates one of another boot")
	assert.Equal(t, 3, at(60*minute, wall.Add(61*time.Minute), true), "and where none does, it counts from the start of this one")
	assert.Equal(t, 5, at(63*minute, time.Time{}, false))
}

func TestACodesNumberOutlivesTheLog(t *testing.T) {
	dir := t.TempDir()
	n, err := keptCounter(dir)
	require.NoError(t, err)
	assert.Zero(t, n)
	require.NoError(t, keepCounter(dir, 7))
	n, err = keptCounter(dir)
	require.NoError(t, err)
	assert.EqualValues(t, 7, n)
}

// A code that was told and never pressed would otherwise open a later stop.
func TestACodeThatTheDeskHasPassedIsGoodForNothing(t *testing.T) {
	dir := t.TempDir()
	h := newHistory(time.UTC)
	k := &desk{d: &Device{Config: &Config{Data: dir}, history: h, Log: slog.New(slog.DiscardHandler)}}
	k.passCodes(1)
	h.add(coach.Entry{Kind: coach.EntryStop, Tag: "K4", MonoNS: 1})
	require.True(t, h.holds.on("K4"))
	secret := []byte("a secret that both ends share")
	told := link.TelephoneCode(secret, "K4", 1)
	for _, c := range h.codes(secret) {
		assert.Greater(t, c.Counter, int64(1))
		assert.NotEqual(t, told[:], c.Presses)
	}
	n, err := keptCounter(dir)
	require.NoError(t, err)
	assert.EqualValues(t, 1, n, "a power cut does not bring it back")
	k.passCodes(0)
	assert.EqualValues(t, 1, h.counter)
}

// A desk that was put back from a backup may not know of a hold: not being
// listed then ends none.
func TestNoHoldEndsBySilenceOfADeskFromABackup(t *testing.T) {
	h := newHistory(time.UTC)
	elsewhere := link.State{Holds: []link.Hold{{ID: 4, Tag: "M2", Reason: link.HeldStop}}}
	require.Len(t, h.hears(elsewhere), 1)
	assert.Empty(t, h.hears(link.State{Partial: true}))
	assert.Equal(t, []string{"M2"}, h.holds.tags())
	require.Len(t, h.hears(link.State{}), 1)
	assert.Empty(t, h.holds.tags())
}
