package session

import (
	"time"

	"evenbell/coach"
)

// introStep is one line of the introduction, with the sound it is about and
// the button it asks for.
type introStep struct {
	line   int // of coach.SayIntro
	sounds coach.CueKind
	length time.Duration // of a sound that has one
	tries  coach.Button  // empty: it asks for nothing
}

// introSteps are the introduction in order: about two minutes where every
// button is pressed soon.
var introSteps = []introStep{
	{line: 1},
	{line: 2, sounds: coach.CueLift, length: 2 * time.Second},
	{line: 3, sounds: coach.CueLower, length: 3 * time.Second},
	{line: 4, sounds: coach.CueBeat},
	{line: 5, sounds: coach.CueBreath},
	{line: 6, sounds: coach.CueSay},
	{line: 7, sounds: coach.CueSetEnd},
	{line: 8, sounds: coach.CueRestEnd},
	{line: 9, tries: coach.Tap},
	{line: 10, tries: coach.Plus},
	{line: 11, tries: coach.Minus},
	{line: 12, tries: coach.Hold},
	{line: 13, tries: coach.Stop},
	{line: 15},
	{line: 16},
}

// IntroPractised is the line that answers a press, of coach.SayIntro.
const IntroPractised = 14

// introWait is how long a step waits for its button; introSound is the room a
// sound has after it. common practice, no source.
const (
	introWait  = 8 * time.Second
	introSound = 1200 * time.Millisecond
)

// intro plays the sounds with what they mean and lets every button be tried,
// the red one, too. A button tried is logged as practice and does nothing
// else. A step that nobody answers moves on.
type intro struct {
	i       int
	praised bool // the step before was answered
}

func (st intro) build(s *Session, b *builder) {
	step := introSteps[st.i]
	if st.praised {
		b.say(coach.Phrase{ID: coach.SayIntro, N: IntroPractised})
	}
	b.p.open = b.at // before it, red would be meant
	b.say(coach.Phrase{ID: coach.SayIntro, N: step.line})
	if step.tries != "" {
		b.p.length = b.spoken() + s.rate.At(introWait)
		return
	}
	if step.sounds == "" {
		return
	}
	c := b.cue(step.sounds)
	c.Length = s.rate.At(step.length)
	if c.Kind == coach.CueSay {
		c.Phrase = coach.Phrase{ID: coach.SayLastOne}
	}
	b.put(b.at, c)
	b.at += max(c.Length, s.speech.Length(c.Phrase))
	b.wait(introSound)
}

func (st intro) ended(s *Session) {
	if st.i+1 == len(introSteps) {
		s.begin(welcome{})
		return
	}
	s.begin(intro{i: st.i + 1})
}

func (st intro) pressed(s *Session, btn coach.Button) bool {
	if s.practises(btn) {
		s.practise(btn)
		return true
	}
	return btn != coach.Hold // hold says the line again; nothing else means anything here
}

// practises reports whether a press of a button is what the introduction asks
// for now. Red counts as practice only there and only while it is asked for;
// anywhere else it is a stop.
func (s *Session) practises(btn coach.Button) bool {
	st, ok := s.step.(intro)
	return ok && introSteps[st.i].tries == btn && s.pos-s.origin >= s.now.open
}

// practise takes a button that was tried.
func (s *Session) practise(btn coach.Button) {
	s.log(coach.EntryPractice, &coach.PracticeData{Button: btn})
	s.cut(intro{i: s.step.(intro).i + 1, praised: true})
}
