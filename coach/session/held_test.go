package session_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/session"
)

var (
	goodCode  = []coach.Button{coach.Minus, coach.Plus, coach.Tap, coach.Hold, coach.Hold, coach.Tap, coach.Plus, coach.Minus}
	wrongCode = []coach.Button{coach.Minus, coach.Plus, coach.Tap, coach.Hold, coach.Hold, coach.Tap, coach.Plus, coach.Plus}
)

func oneHeld(l *session.Lobby) {
	l.Tapped, l.Guests = true, l.Guests[:1]
	l.Guests[0].Held = true
	l.Codes, l.Tries = []session.Code{{Tag: "K4", Counter: 7, Presses: goodCode}}, 5
}

// presses presses a code, as somebody does who listens to the count.
func (r *run) presses(code []coach.Button) {
	for _, b := range code {
		r.press(b)
		r.wait(1)
	}
}

func (r *run) entries(k coach.EntryKind) []coach.Entry {
	var out []coach.Entry
	for _, e := range r.out.Entries {
		if e.Kind == k {
			out = append(out, e)
		}
	}
	return out
}

func TestWhoIsHeldIsSentToTheStaff(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { oneHeld(l); l.Codes = nil })
	r.wait(10)
	require.Len(t, r.says(coach.SayTrouble), 1)
	assert.Equal(t, string(coach.TroubleHeld), r.says(coach.SayTrouble)[0].Phrase.Name)
	assert.Empty(t, r.says(coach.SayCodeOffer), "without a desk nobody has a code")
	r.press(coach.Hold)
	r.wait(200)
	assert.Empty(t, r.says(coach.AskCode))
	assert.False(t, r.Done(), "the station waits for the next person")
}

func TestOnlyTheOneWhoIsHeldIsSentAway(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { l.Tapped, l.Guests[1].Held = true, true })
	r.until(session.ForWho)
	r.press(coach.Tap)
	r.until(session.ForConfirm)
	r.press(coach.Tap)
	c, ok := r.Chosen()
	assert.True(t, ok)
	assert.Equal(t, session.Choice{}, c)
}

func TestACodeClearsWhoIsHeld(t *testing.T) {
	r := lobby(t, oneHeld)
	r.until(session.ForCode)
	require.Len(t, r.says(coach.SayCodeOffer), 1)
	r.press(coach.Hold)
	r.wait(5)
	r.presses(goodCode)
	assert.Len(t, r.says(coach.SayCount), 7, "each press is counted aloud")
	r.wait(10)
	clears := r.entries(coach.EntryClear)
	require.Len(t, clears, 1)
	assert.Equal(t, "K4", clears[0].Tag)
	assert.Equal(t, coach.ClearData{By: coach.ByTelephone, Counter: 7}, *clears[0].Data.(*coach.ClearData))
	assert.Len(t, r.says(coach.SayCodeRight), 1)
	assert.Empty(t, r.entries(coach.EntryRelease), "nothing was locked")
	c, ok := r.Chosen()
	assert.True(t, ok)
	assert.Equal(t, session.Choice{Tapped: true}, c, "the station looks around anew")
}

func TestWrongCodesRunOut(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { oneHeld(l); l.Tries = 2 })
	r.until(session.ForCode)
	for range 2 {
		r.press(coach.Hold)
		r.wait(5)
		r.presses(wrongCode)
		r.wait(5)
	}
	assert.Len(t, r.entries(coach.EntryWrongCode), 2)
	assert.Len(t, r.says(coach.SayCodeWrong), 1)
	assert.Len(t, r.says(coach.SayCodeOver), 1)
	asked := len(r.says(coach.AskCode))
	r.press(coach.Hold)
	r.wait(5)
	r.presses(goodCode)
	r.wait(5)
	assert.Len(t, r.says(coach.AskCode), asked)
	assert.Empty(t, r.entries(coach.EntryClear))
}

func TestACodeFreesALockedStationToo(t *testing.T) {
	for _, offer := range []bool{false, true} {
		r := lobby(t, func(l *session.Lobby) { oneHeld(l); l.Locked, l.Offer = true, offer })
		r.wait(10)
		assert.Len(t, r.says(coach.SayPlaceLocked), 1)
		assert.Equal(t, offer, len(r.says(coach.SayCodeOffer)) == 1)
		r.press(coach.Hold)
		r.wait(5)
		r.presses(goodCode)
		r.wait(10)
		releases := r.entries(coach.EntryRelease)
		require.Len(t, releases, 1)
		assert.Equal(t, coach.ByTelephone, releases[0].Data.(*coach.ReleaseData).By)
		assert.True(t, r.Done())
	}
}

// Red stops, whatever else is being pressed; and the clinic's own sequence
// still releases a station that would take a code.
func TestRedAndTheReleaseSequenceComeBeforeACode(t *testing.T) {
	r := lobby(t, oneHeld)
	r.until(session.ForCode)
	r.press(coach.Hold)
	r.wait(5)
	r.presses(goodCode[:4])
	r.press(coach.Stop)
	assert.Len(t, r.entries(coach.EntryStop), 1)
	assert.True(t, r.Stopped())

	r = lobby(t, func(l *session.Lobby) {
		oneHeld(l)
		l.Locked, l.Release = true, []coach.Button{coach.Hold, coach.Minus, coach.Hold}
	})
	r.wait(10)
	r.presses([]coach.Button{coach.Hold, coach.Minus, coach.Hold})
	require.Len(t, r.entries(coach.EntryRelease), 1)
	assert.Equal(t, "box", r.entries(coach.EntryRelease)[0].Data.(*coach.ReleaseData).By)
	assert.Empty(t, r.says(coach.AskCode))
}

func TestAReleaseFromAfar(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { l.Locked = true })
	r.wait(10)
	r.Release("A. Lind", &r.out)
	r.Release("A. Lind", &r.out)
	r.wait(10)
	require.Len(t, r.entries(coach.EntryRelease), 1, "once")
	assert.Equal(t, "A. Lind", r.entries(coach.EntryRelease)[0].Data.(*coach.ReleaseData).By)
	assert.Len(t, r.says(coach.SayReleased), 1)
	assert.False(t, r.Stopped())

	r = lobby(t, func(l *session.Lobby) { l.Locked, l.Failed = true, true })
	r.wait(10)
	r.Release("A. Lind", &r.out)
	assert.Empty(t, r.entries(coach.EntryRelease), "a station whose log has failed is freed only at the box")
}
