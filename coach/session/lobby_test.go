package session_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/session"
)

func lobby(t *testing.T, change func(*session.Lobby)) *run {
	t.Helper()
	p := programme(item("row"))
	l := &session.Lobby{Patience: p.Patience, Guests: []session.Guest{
		{Tag: "K4", Name: "heron", First: &p.Items[0]}, {Tag: "M7", Name: "maple", First: &p.Items[0]}}}
	change(l)
	return &run{t: t, Session: session.NewLobby(l, speech{})}
}

func TestLobbyIsQuietUntilATap(t *testing.T) {
	r := lobby(t, func(*session.Lobby) {})
	r.wait(3600)
	assert.Empty(t, r.out.Cues)
	r.press(coach.Minus)
	r.press(coach.Hold)
	r.wait(30)
	assert.False(t, r.Done())
	r.press(coach.Tap)
	c, ok := r.Chosen()
	assert.True(t, ok)
	assert.Equal(t, session.Choice{Tapped: true}, c)
}

func TestLobbyFindsOutWhoIsThere(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { l.Tapped = true })
	r.until(session.ForWho)
	r.press(coach.Plus)
	r.wait(1)
	r.press(coach.Tap)
	r.until(session.ForConfirm)
	ask := r.says(coach.AskIsItYou)
	require.Len(t, ask, 1)
	assert.Equal(t, "maple", ask[0].Phrase.Name)
	r.press(coach.Tap)
	c, ok := r.Chosen()
	assert.True(t, ok)
	assert.Equal(t, session.Choice{Guest: 1}, c)
	assert.True(t, r.Done())
}

func TestOneGuestNeedsNoQuestion(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { l.Tapped, l.Guests = true, l.Guests[:1] })
	r.wait(1)
	c, ok := r.Chosen()
	assert.True(t, ok)
	assert.Equal(t, session.Choice{}, c)
}

func TestWhoWalksAwayIsNotMissed(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { l.Tapped = true })
	r.wait(200)
	assert.Empty(t, r.Waiting().For)
	assert.False(t, r.NeedsLook())
	assert.Empty(t, r.says(coach.SayNeedsLook))
}

func TestRefusalIsSaidAndNobodyIsCoached(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { l.Tapped, l.Refusal = true, coach.TroublePlanUnapproved })
	r.wait(20)
	said := r.says(coach.SayTrouble)
	require.Len(t, said, 1)
	assert.Equal(t, string(coach.TroublePlanUnapproved), said[0].Phrase.Name)
	_, ok := r.Chosen()
	assert.False(t, ok)
}

func TestLockHoldsUntilTheClinicsOwnSequence(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) {
		l.Locked, l.Release = true, []coach.Button{coach.Hold, coach.Hold, coach.Minus}
	})
	r.wait(5)
	assert.True(t, r.NeedsLook())
	press := func(bs ...coach.Button) {
		for _, b := range bs {
			r.press(b)
			r.wait(0.5)
		}
	}
	press(coach.Tap, coach.Plus, coach.Hold, coach.Minus, coach.Hold)
	r.wait(10)
	press(coach.Hold, coach.Minus) // the first hold was too long ago
	assert.True(t, r.Stopped())
	r.wait(10)
	press(coach.Hold, coach.Hold, coach.Minus)
	assert.False(t, r.Stopped())
	assert.Contains(t, r.story(), "release")
	r.wait(10)
	press(coach.Tap)
	_, ok := r.Chosen()
	assert.True(t, ok)
}

func TestWithoutASequenceTheBoxDoesNotRelease(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { l.Locked = true })
	for range 200 {
		for _, b := range []coach.Button{coach.Tap, coach.Minus, coach.Plus, coach.Hold} {
			r.press(b)
			r.wait(0.3)
		}
	}
	assert.True(t, r.Stopped())
}

func TestRedWorksInTheLobbyAndLocks(t *testing.T) {
	r := lobby(t, func(*session.Lobby) {})
	r.wait(10)
	p := r.Pos()
	r.press(coach.Stop)
	r.until(coach.QuestionSymptom)
	assert.Equal(t, p+sec(0.15), r.cues(coach.CueStop)[0].At)
	r.press(coach.Tap)
	r.wait(60)
	assert.True(t, r.Stopped())
	r.press(coach.Tap)
	r.wait(5)
	assert.Empty(t, r.Waiting().For)
	r.press(coach.Stop)
	r.wait(1)
	assert.Len(t, r.cues(coach.CueStop), 2, "and again while locked")
}

func TestOffersToGoOnAfterAPowerCut(t *testing.T) {
	for _, tc := range []struct {
		answer coach.Button
		resume bool
	}{{coach.Plus, true}, {coach.Minus, false}} {
		r := lobby(t, func(l *session.Lobby) { l.Broken = &session.Broken{Guest: 1, Item: 0, Exercise: "row"} })
		r.until(session.ForGoOn)
		r.press(tc.answer)
		r.wait(5)
		c, ok := r.Chosen()
		assert.Equal(t, tc.resume, ok)
		if ok {
			assert.Equal(t, session.Choice{Guest: 1, Resume: true}, c)
		}
	}
}

func TestATapOffersItAgain(t *testing.T) {
	broken := func(tapped bool) *run {
		return lobby(t, func(l *session.Lobby) {
			l.Tapped, l.Broken = tapped, &session.Broken{Guest: 1, Item: 0, Exercise: "row"}
		})
	}
	r := broken(false)
	r.until(session.ForGoOn)
	r.wait(100) // nobody there
	r.press(coach.Tap)
	c, _ := r.Chosen()
	assert.True(t, c.Tapped)
	r = broken(true)
	r.until(session.ForGoOn)
	r.press(coach.Minus)
	r.until(session.ForWho)
}

func TestFailedLogIsSaidUntilReleased(t *testing.T) {
	r := lobby(t, func(l *session.Lobby) { l.Failed, l.Release = true, []coach.Button{coach.Hold, coach.Plus} })
	r.wait(200)
	assert.GreaterOrEqual(t, len(r.says(coach.SayTrouble)), 3)
	assert.True(t, r.NeedsLook())
	r.press(coach.Tap)
	r.wait(1)
	assert.False(t, r.Done())
	r.press(coach.Hold)
	r.press(coach.Plus)
	assert.True(t, r.Done())
	_, ok := r.Chosen()
	assert.False(t, ok)
}
