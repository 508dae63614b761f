package session

import (
	"time"

	"evenbell/coach"
)

// stopSilence is the silence between a stop and its signal.
const stopSilence = 150 * time.Millisecond

// StopSignal is how long the stop signal lasts; what is said follows it.
const StopSignal = 3500 * time.Millisecond

// beforeAsking is the quiet in which somebody can call out and sit down
// before the station asks what is felt.
const beforeAsking = 8 * time.Second

// toAnswer is the time left for a tap after each symptom is named.
const toAnswer = 2500 * time.Millisecond

// reaction is how far into the next symptom's name a tap still takes the one
// before: nobody has heard what it is by then.
const reaction = 450 * time.Millisecond

// stop ends all coaching where the session stands.
func (s *Session) stop() {
	s.log(coach.EntryStop, nil)
	s.breakOff(coach.EndedStop)
	s.stopped = true
	s.cut(stopping{})
}

// breakOff logs the end of a set that was under way, if one was.
func (s *Session) breakOff(how coach.SetEnding) {
	s.rep = 0
	if s.inSet {
		s.inSet = false
		s.log(coach.EntrySetEnd, s.tally.data(s.rate, how))
	}
}

// stopping sounds the signal and says what to do.
type stopping struct{ plain }

func (stopping) build(s *Session, b *builder) {
	b.wait(stopSilence)
	b.put(b.at, b.cue(coach.CueStop))
	b.wait(StopSignal)
	b.say(coach.Phrase{ID: coach.SayStop})
	b.say(s.emergency()...)
	b.wait(beforeAsking)
}

func (stopping) ended(s *Session) { s.begin(symptoms{}) }

// symptoms asks what is felt, one thing after the other; a tap takes what
// was just named.
type symptoms struct{}

func (symptoms) build(s *Session, b *builder) {
	prompt := func() {
		b.speak(coach.CueAsk, coach.Phrase{ID: coach.AskSymptom})
		for _, sym := range coach.Symptoms {
			b.p.named = append(b.p.named, named{b.at, sym})
			b.say(coach.Phrase{ID: coach.SaySymptom, Name: string(sym)})
			if sym != coach.SymptomMistake {
				b.wait(toAnswer)
			}
		}
	}
	prompt()
	b.question(coach.QuestionSymptom, 0, prompt)
}

func (symptoms) ended(*Session) {}

func (symptoms) pressed(s *Session, btn coach.Button) bool {
	if btn != coach.Tap {
		return false
	}
	late := s.rate.At(reaction)
	for i := len(s.now.named) - 1; i >= 0; i-- {
		if n := s.now.named[i]; s.origin+n.at+late <= s.pos || i == 0 && s.origin+n.at <= s.pos {
			s.logAnswer(string(n.s))
			s.cut(stopNoted{})
			return true
		}
	}
	return false
}

// stopNoted says that staff release the station, and ends the session.
type stopNoted struct {
	plain
	unanswered bool
}

func (n stopNoted) build(s *Session, b *builder) {
	if n.unanswered {
		b.say(coach.Phrase{ID: coach.SayPlaceLocked})
	} else {
		b.say(coach.Phrase{ID: coach.SayStopNoted})
	}
	b.say(s.rings()...)
}

func (stopNoted) ended(s *Session) {
	if s.lobby != nil {
		s.settleDown()
		return
	}
	s.end(coach.Stopped)
}

// abandon ends a session whose patient no longer answers.
func (s *Session) abandon() {
	if s.stopped {
		s.begin(stopNoted{unanswered: true})
		return
	}
	s.breakOff(coach.EndedFault)
	s.begin(said{phrase: coach.Phrase{ID: coach.SayAbandoned}, then: func(s *Session) {
		s.end(coach.Abandoned)
	}})
}

// HelpComing says that somebody is on the way. Call it only once a named
// person has said so; it does nothing unless the session is stopped or nobody
// answers, and speaks once.
func (s *Session) HelpComing(h coach.HelpData, out *Output) {
	if !s.NeedsLook() || s.helped || s.step == nil {
		return
	}
	s.out, s.helped = out, true
	s.log(coach.EntryHelp, &h)
	s.aside(coach.Phrase{ID: coach.SayHelpComing})
	s.out = nil
}

// Interrupt holds a session at the current position because a part of the
// station failed, and logs which. With a trouble to say it pauses whatever is
// going on, and does nothing where it has paused for one already; without, only
// movement and timers pause, and anything else is said again.
func (s *Session) Interrupt(f coach.FaultData, says coach.Trouble, out *Output) {
	already, isPaused := s.step.(paused)
	if s.step == nil || already.says != "" {
		return
	}
	s.out = out
	s.log(coach.EntryFault, &f)
	held := paused{held: s.step, says: says}
	switch {
	case isPaused && says != "":
		already.says = says
		s.cut(already)
	case s.now.mode == modeLed:
		held.from = s.resumeAt()
		s.cut(held)
	case s.now.mode == modeTimer:
		held.now, held.elapsed, held.next = s.now, s.pos-s.origin, s.next
		s.cut(held)
	case s.stopped && s.now.mode == modeTalk:
		s.cut(s.step)
	case says != "" && !s.stopped && s.lobby == nil:
		s.cut(held)
	default:
		s.hold()
	}
	s.out = nil
}
