package session_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"evenbell/coach"
)

// elsewhere is the last part of a session whose cool-down is done elsewhere.
func elsewhere() *coach.Programme {
	p := programme(item("row"))
	p.Part, p.WarmUp, p.CoolDown, p.CoolsElsewhere = coach.Last, 0, 0, true
	return p
}

// The cool-down elsewhere comes after the closing question, which nobody asks
// there, and the session is whole.
func TestCoolDownElsewhere(t *testing.T) {
	r := begin(t, elsewhere())
	r.well("")
	assert.Equal(t, coach.Completed, r.Outcome())
	assert.Empty(t, r.cues(coach.CueCoolDown))
	assert.Empty(t, r.kinds(coach.EntryCoolDownEnd))
	assert.Contains(t, r.story(), "question closing well")
	done := r.says(coach.SayDone)
	if assert.Len(t, done, 1) {
		assert.Equal(t, "cool-down", done[0].Phrase.Name)
	}
	assert.Empty(t, r.says(coach.SayNext), "no place is known")
}

func TestWhoIsNotWellIsSentNowhere(t *testing.T) {
	p := elsewhere()
	p.Next = coach.Next{Place: "the cool-down area"}
	r := begin(t, p)
	r.well(coach.QuestionClosing)
	r.press(coach.Minus)
	r.well("")
	assert.Len(t, r.says(coach.SayClosingNo), 1)
	assert.Empty(t, r.says(coach.SayNext))
	assert.Empty(t, r.says(coach.SayDone))
}

func TestFinishedEarlyWithTheCoolDownElsewhere(t *testing.T) {
	r := begin(t, elsewhere())
	r.intoSet(3)
	r.press(coach.Hold)
	r.wait(3)
	r.press(coach.Plus)
	r.well("")
	assert.Equal(t, coach.FinishedEarly, r.Outcome())
	assert.Contains(t, r.story(), "question closing well")
}

// At the end of its part a session says where to go next and when, as it was
// told last.
func TestWhereToGoNext(t *testing.T) {
	middle := func(n coach.Next) *run {
		p := programme(item("row"))
		p.Part, p.WarmUp, p.CoolDown, p.Next = coach.Middle, 0, 0, n
		return begin(t, p)
	}
	said := func(r *run) coach.Phrase {
		r.well("")
		cs := r.says(coach.SayNext)
		if assert.Len(t, cs, 1) {
			return cs[0].Phrase
		}
		return coach.Phrase{}
	}
	assert.Equal(t, coach.Phrase{ID: coach.SayNext}, said(middle(coach.Next{})))
	assert.Equal(t, coach.Phrase{ID: coach.SayNext, Name: "the mat", When: coach.WhenAt, N: 550},
		said(middle(coach.Next{Place: "the mat", At: "09:10"})))
	timed := coach.Next{Place: "the mat", At: "09:10", Timed: true}
	assert.Equal(t, coach.WhenNow, said(middle(timed)).When)

	r := middle(timed)
	r.intoSet(3)
	r.GoesNext(coach.Next{Place: "the wall", At: "09:12", Free: r.Pos().Time() + 5*time.Minute, Timed: true})
	got := said(r)
	assert.Equal(t, "the wall", got.Name)
	assert.Equal(t, coach.WhenSoon, got.When)
	assert.Contains(t, []int{240, 300}, got.Seconds)
}
