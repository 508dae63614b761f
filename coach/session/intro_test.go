package session_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/session"
)

func introduced() *coach.Programme {
	p := programme(item("row"))
	p.Intro = true
	return p
}

// untilLine goes on to half a second after a line of the introduction began.
func (r *run) untilLine(n int) {
	r.t.Helper()
	for range 2000 {
		for _, c := range r.says(coach.SayIntro) {
			if c.Phrase.N == n {
				r.Advance(c.At+sec(0.5), &r.out)
				return
			}
		}
		r.wait(0.25)
	}
	r.t.Fatalf("line %d of the introduction never came", n)
}

func (r *run) kinds(k coach.EntryKind) (es []coach.Entry) {
	for _, e := range r.out.Entries {
		if e.Kind == k {
			es = append(es, e)
		}
	}
	return es
}

// Every button tried is practice and nothing else; then the session begins as
// any other.
func TestIntroductionTriesEveryButton(t *testing.T) {
	r := begin(t, introduced())
	want := []coach.Button{coach.Tap, coach.Plus, coach.Minus, coach.Hold, coach.Stop}
	for i, b := range want {
		r.untilLine(9 + i)
		r.press(b)
		require.Len(t, r.kinds(coach.EntryPractice), i+1)
		assert.Equal(t, &coach.PracticeData{Button: b}, r.kinds(coach.EntryPractice)[i].Data)
	}
	r.until(coach.QuestionWell)
	assert.False(t, r.Stopped())
	assert.Empty(t, r.kinds(coach.EntryStop))
	assert.Empty(t, r.kinds(coach.EntryVolume), "plus and minus were practice")
	assert.Empty(t, r.kinds(coach.EntryPause))
	assert.Len(t, r.says(coach.SayWelcome), 1)
	for _, k := range []coach.CueKind{coach.CueLift, coach.CueLower, coach.CueBeat, coach.CueBreath, coach.CueSetEnd, coach.CueRestEnd} {
		assert.NotZero(t, countKind(r.out.Cues, k), k)
	}
	r.well("")
	assert.Equal(t, coach.Completed, r.Outcome())
}

func countKind(cues []coach.Cue, k coach.CueKind) (n int) {
	for _, c := range cues {
		if c.Kind == k {
			n++
		}
	}
	return n
}

// A step nobody answers moves on, and the whole takes about two minutes.
func TestIntroductionMovesOnByItself(t *testing.T) {
	r := begin(t, introduced())
	r.until(coach.QuestionWell)
	took := r.says(coach.SayWelcome)[0].At
	t.Logf("unanswered it takes %v", coach.SessionRate.Duration(took))
	assert.Less(t, took, sec(150))
	assert.Greater(t, took, sec(60))
	assert.Empty(t, r.kinds(coach.EntryPractice))
	assert.Empty(t, r.kinds(coach.EntryNoAnswer))
	assert.False(t, r.NeedsLook())
}

// Red is practice only in the step that asks for it: before it, after it, while
// the praise for the button before is said, and a second time, it stops.
func TestRedIsPracticeOnlyWhereItIsAskedFor(t *testing.T) {
	for _, line := range []int{1, 2, 9, 12, 15, 16} {
		r := begin(t, introduced())
		r.untilLine(line)
		r.press(coach.Stop)
		assert.True(t, r.Stopped(), "in line %d", line)
		assert.Len(t, r.kinds(coach.EntryStop), 1)
		assert.Empty(t, r.kinds(coach.EntryPractice))
	}
	r := begin(t, introduced())
	r.untilLine(12)
	r.press(coach.Hold) // praised, and only then asked for red
	r.press(coach.Stop)
	assert.True(t, r.Stopped(), "red pressed before it was asked for is meant")
	r = begin(t, introduced())
	r.untilLine(13)
	r.press(coach.Stop)
	assert.False(t, r.Stopped())
	r.press(coach.Stop)
	assert.True(t, r.Stopped(), "the second press is for real")
}

// Holding twice while the station waits asks for the introduction; too slow,
// or once, is nothing.
func TestIntroductionCanBeAskedFor(t *testing.T) {
	r := lobby(t, func(*session.Lobby) {})
	r.wait(10)
	r.press(coach.Hold)
	r.wait(3)
	r.press(coach.Hold)
	assert.False(t, r.Done())
	r.wait(1.5)
	r.press(coach.Hold)
	c, ok := r.Chosen()
	assert.True(t, ok)
	assert.Equal(t, session.Choice{Tapped: true, Intro: true}, c)
}

func TestNoIntroductionUnlessTheProgrammeHasIt(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.well("")
	assert.Empty(t, r.says(coach.SayIntro))
}
