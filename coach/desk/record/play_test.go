package record

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/session"
)

// speech says every phrase in two seconds; numbers take half of one.
type speech struct{}

func (speech) Length(p coach.Phrase) coach.Samples {
	switch p.ID {
	case "":
		return 0
	case coach.SayCount, coach.SayCountIn, coach.SayVerb, coach.SayLastOne:
		return coach.SessionRate.At(time.Second / 2)
	}
	return coach.SessionRate.At(2 * time.Second)
}

// how a person goes through a session; the zero value is well and taps in
// every repetition.
type how struct {
	stop, enough, skip int    // the set, from 1, in whose fourth repetition it happens
	minus              string // the question answered with minus
	silent             string // what nobody answers
	// part of the plan's session, with these of its items; the whole where empty.
	part  coach.Part
	items []int
}

// player is one real session of the plan, with somebody at the buttons.
type player struct {
	how
	*session.Session
	out  session.Output
	sets int
}

// played is the log of one session that only stops, in the stopAt-th set if
// that is above 0.
func played(t testing.TB, n int, start time.Time, stopAt int) []Entry {
	return playedAs(t, n, start, how{stop: stopAt})
}

// playedAs is the log of one session. Its epoch is named after n.
func playedAs(t testing.TB, n int, start time.Time, h how) []Entry {
	t.Helper()
	p, _ := readPlan(t)
	prog, err := p.Resolve("K4", p.Day)
	require.NoError(t, err)
	prog.Approved = true
	if h.part != "" {
		all := prog.Items
		prog.Part, prog.Items = h.part, nil
		prog.WarmUp, prog.CoolDown, prog.WarmedUp, prog.CoolsElsewhere = 0, 0, h.part.HasWarmUp(), h.part.HasCoolDown()
		for _, i := range h.items {
			prog.Items = append(prog.Items, all[i])
		}
	}
	made := coach.SessionStartData{Plan: p.Fingerprint(), Protocol: "b4c1", Voice: "7aa0", Program: "0.3.0", Speed: "1", Part: coach.Whole,
		Recorded: []coach.RecordedData{{Text: "towel pull", Hash: "9c40a1"}}}
	s := &player{how: h, Session: session.New(&prog, speech{}, made)}
	for range 1 << 20 {
		if s.Done() {
			break
		}
		seen := len(s.out.Cues)
		s.answer()
		for _, c := range s.out.Cues[seen:] {
			s.hear(c)
		}
	}
	require.True(t, s.Done())
	return stamped(t, n, start, s.out.Entries)
}

func (s *player) press(b coach.Button) { s.Press(b, s.Pos(), &s.out) }

func (s *player) wait(d time.Duration) { s.Advance(s.Pos()+coach.SessionRate.At(d), &s.out) }

// answer goes on for a quarter of a second, or answers what is asked.
func (s *player) answer() {
	w := s.Waiting()
	if w.For == "" || w.For == coach.QuestionSymptom || w.For == s.silent {
		s.wait(time.Second / 4)
		return
	}
	s.Advance(max(s.Pos(), w.Prompted)+coach.SessionRate.At(time.Second/2), &s.out)
	switch w.For {
	case session.ForReady, session.ForEffort:
		s.press(coach.Tap)
	case s.minus, session.ForResume:
		s.press(coach.Minus)
	default:
		s.press(coach.Plus)
	}
}

// hear does what the person does at a cue.
func (s *player) hear(c coach.Cue) {
	if c.Phrase.ID == coach.SaySymptom && c.Phrase.Name == string(coach.SymptomDizzy) {
		s.wait(time.Second)
		s.press(coach.Tap)
	}
	if c.Kind == coach.CueCountIn && c.Phrase.N == 1 {
		s.sets++
	}
	if c.Kind != coach.CueLower || s.Stopped() || s.Done() {
		return
	}
	s.press(coach.Tap)
	if c.Rep != 4 {
		return
	}
	switch s.sets {
	case s.stop:
		s.press(coach.Stop)
	case s.enough:
		s.press(coach.Minus)
	case s.skip:
		s.press(coach.Hold)
	}
}
