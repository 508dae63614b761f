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
		s.cut(said{phrase: coach.Phrase{ID: coach.SayClosingNo}, more: s.callsFor(), then: func(s *Session) { s.begin(allDone{unwell: true}) }})
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
	if !d.unwell {
		b.say(s.farewell()...)
	}
	b.put(b.at, b.cue(coach.CueDone))
	b.p.length = b.at + s.rate.At(doneRings)
}

// farewell sends the patient home, to the cool-down or to the next place. Who
// is not well is sent nowhere.
func (s *Session) farewell() []coach.Phrase {
	next := s.goesNext.Says(s.rate.Duration(s.pos))
	switch known := s.goesNext.Place != ""; {
	case s.prog.Part.HasCoolDown() && !s.prog.CoolsElsewhere:
		return []coach.Phrase{{ID: coach.SayDone}}
	case s.prog.Part.HasCoolDown() && known:
		return []coach.Phrase{{ID: coach.SayDone, Name: "cool-down"}, next}
	case s.prog.Part.HasCoolDown():
		return []coach.Phrase{{ID: coach.SayDone, Name: "cool-down"}}
	case known:
		return []coach.Phrase{{ID: coach.SayDone, Name: "place"}, next}
	}
	return []coach.Phrase{{ID: coach.SayDone, Name: "place"}, {ID: coach.SayNext}}
}

func (allDone) ended(s *Session) {
	if s.early {
		s.end(coach.FinishedEarly)
	} else {
		s.end(coach.Completed)
	}
}
