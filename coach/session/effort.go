package session

import (
	"time"

	"evenbell/coach"
)

// setDown follows a set: the weights go down.
type setDown struct{ how coach.SetEnding }

func (setDown) build(s *Session, b *builder) {
	b.put(0, b.cue(coach.CueSetEnd))
	b.wait(chime)
	b.say(s.carrying(coach.SaySetEnd))
}

// pressed takes plus and minus and does nothing: who says "enough" a little
// late does not mean the volume.
func (setDown) pressed(_ *Session, btn coach.Button) bool {
	return btn == coach.Plus || btn == coach.Minus
}

func (d setDown) ended(s *Session) {
	last := s.pass+1 == len(s.current().Sides.Passes())
	switch {
	case d.how == coach.EndedEnough:
		s.begin(allRight{})
	case last:
		s.begin(effort{})
	default:
		s.afterSet()
	}
}

// allRight asks, after "enough", whether all is well.
type allRight struct{}

func (allRight) build(s *Session, b *builder) {
	b.yesNo(question{coach.QuestionAllRight, coach.AskAllRight})
}

func (allRight) ended(*Session) {}

func (allRight) pressed(s *Session, btn coach.Button) bool {
	switch s.answered(btn) {
	case coach.AnswerNotWell:
		s.stop()
	case coach.AnswerWell:
		s.cut(effort{})
	default:
		return false
	}
	return true
}

// effort asks how many more repetitions there were in reserve.
type effort struct{}

func (effort) build(s *Session, b *builder) {
	var open coach.Samples
	prompt := func() {
		b.speak(coach.CueAsk, coach.Phrase{ID: coach.AskEffort})
		if open == 0 {
			open = b.spoken()
		}
		b.say(coach.Phrase{ID: coach.HintEffort})
	}
	prompt()
	b.question(ForEffort, open, prompt)
}

func (effort) ended(*Session) {}

func (effort) pressed(s *Session, btn coach.Button) bool {
	r := reserve(btn)
	if r == "" || (btn != coach.Minus && s.pos-s.origin < s.now.open) {
		return false
	}
	s.reserve = r
	s.cut(effortTaken{})
	return true
}

// reserve is what a control answers to the effort question.
func reserve(btn coach.Button) coach.Reserve {
	switch btn {
	case coach.Minus:
		return coach.ReserveNone
	case coach.Tap:
		return coach.ReserveFew
	case coach.Plus:
		return coach.ReserveMany
	}
	return ""
}

// changeable is how long an answer about effort can still be changed once it
// has been read back.
const changeable = 4 * time.Second

// mostChanges is how often an answer about effort can be changed: then it
// stands, so that a session goes on whatever is done to its buttons. common
// practice, no source.
const mostChanges = 5

// effortTaken reads the answer back and lets it be changed for a while.
type effortTaken struct{ changes int }

func (effortTaken) build(s *Session, b *builder) {
	b.say(coach.Phrase{ID: coach.SayEffort, Name: string(s.reserve)})
	b.p.length = b.spoken() + s.rate.At(changeable)
	b.sayWithin(b.p.length, coach.Phrase{ID: coach.HintChange})
}

func (effortTaken) ended(s *Session) {
	s.log(coach.EntryEffort, &coach.EffortData{Reserve: s.reserve})
	s.afterSet()
}

func (t effortTaken) pressed(s *Session, btn coach.Button) bool {
	r := reserve(btn)
	if r == "" {
		return false
	}
	if r != s.reserve && t.changes < mostChanges {
		s.reserve = r
		s.cut(effortTaken{t.changes + 1})
	}
	return true
}
