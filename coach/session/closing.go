package session

import (
	"time"

	"evenbell/coach"
)

// doneRings is how long the closing sound may ring on after what is said.
const doneRings = 2 * time.Second

func closingQuestion(s *Session) { s.begin(closing{}) }

// closing asks how it was.
type closing struct{}

func (closing) build(s *Session, b *builder) {
	b.yesNo(question{coach.QuestionClosing, coach.AskClosing})
}

func (closing) ended(*Session) {}

func (closing) pressed(s *Session, btn coach.Button) bool {
	switch s.answered(btn) {
	case coach.AnswerNotWell:
		s.cut(said{phrase: coach.Phrase{ID: coach.SayClosingNo}, then: func(s *Session) { s.begin(allDone{unwell: true}) }})
	case coach.AnswerWell:
		s.cut(allDone{})
	default:
		return false
	}
	return true
}

// allDone ends a session that came to its end.
type allDone struct {
	plain
	unwell bool
}

func (d allDone) build(s *Session, b *builder) {
	switch {
	case d.unwell:
	case s.prog.Part.HasCoolDown():
		b.say(coach.Phrase{ID: coach.SayDone})
	default:
		b.say(coach.Phrase{ID: coach.SayDone, Name: "place"})
	}
	b.put(b.at, b.cue(coach.CueDone))
	b.p.length = b.at + s.rate.At(doneRings)
}

func (allDone) ended(s *Session) {
	if s.early {
		s.end(coach.FinishedEarly)
	} else {
		s.end(coach.Completed)
	}
}
