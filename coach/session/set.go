package session

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/tempo"
)

// verbsInFull is how many repetitions name the movement along with the
// count; after them the count alone opens a repetition.
const verbsInFull = 2

// breathAlone is how long before a lift the breathing sound begins where
// there is no room to say anything.
const breathAlone = 400 * time.Millisecond

// breathing room between one thing said in a set and the next.
const inSetGap = 60 * time.Millisecond

// leading leads a set: time to settle, count-in, repetitions. After a pause
// it begins at the repetition that was broken off, without settling again.
type leading struct {
	from    int
	resumed bool
}

// tempo is the current pass of the current set, led from a repetition.
func (s *Session) tempo(from int) tempo.Set {
	it := s.current()
	return tempo.Set{Rate: s.rate, Pace: it.Pace, First: it.First, Sides: it.Sides,
		Side: it.Sides.Passes()[s.pass], From: from, Reps: it.Dose.Reps}
}

func (l leading) build(s *Session, b *builder) {
	s.rep = 0
	set := s.tempo(l.from)
	b.p.mode = modeLed
	origin := s.rate.At(s.current().Pace.Settle)
	if l.resumed {
		b.resumes(coach.Phrase{ID: coach.SayResume, N: l.from})
		origin = b.at
	} else {
		b.sayWithin(origin-s.rate.At(inSetGap), s.carrying(coach.SaySettle))
	}
	for rep := l.from; rep <= set.Reps; rep++ {
		b.do(origin+set.RepStart(rep), repStart, coach.Cue{Rep: rep})
		b.do(origin+set.RepStart(rep+1), repEnd, coach.Cue{})
	}
	newSetSpeech(b, origin, l.from).place(set.Marks())
	b.p.length = origin + set.End()
}

func (leading) ended(s *Session) { s.endSet(coach.EndedComplete) }

func (leading) pressed(s *Session, btn coach.Button) bool {
	switch btn {
	case coach.Tap:
		s.tally.tap(s.heard)
	case coach.Minus:
		s.out.Hush = append(s.out.Hush, s.pos)
		s.endSet(coach.EndedEnough)
	case coach.Plus:
	default:
		return false
	}
	return true
}

// endSet logs the set and puts the weights down.
func (s *Session) endSet(how coach.SetEnding) {
	s.rep, s.inSet = 0, false
	s.log(coach.EntrySetEnd, s.tally.data(s.rate, how))
	s.begin(setDown{how})
}

// setSpeech places what is said inside a set: a count or a verb at the start
// of each movement, and ahead of a movement the breathing cue or the
// announcement of the last repetition, so that nothing is said over anything
// else.
type setSpeech struct {
	b      *builder
	origin coach.Samples
	from   int
	gap    coach.Samples
	free   coach.Samples // from here nothing is being said
}

func newSetSpeech(b *builder, origin coach.Samples, from int) *setSpeech {
	return &setSpeech{b: b, origin: origin, from: from, gap: b.s.rate.At(inSetGap), free: -1 << 62}
}

// place puts the marks of a set into the passage.
func (t *setSpeech) place(ms []tempo.Mark) {
	for i, m := range ms {
		c := t.b.cue(m.Kind)
		c.Rep, c.Side, c.Length = m.Rep, m.Side, m.Length
		if m.Kind == coach.CueCountIn {
			c.Side = t.b.cue(m.Kind).Side
		}
		at := t.origin + m.At
		switch m.Kind {
		case coach.CueBreath, coach.CueSay:
			t.ahead(at, m, c)
		case coach.CueCountIn:
			c.Phrase = coach.Phrase{ID: coach.SayCountIn, N: m.N}
			t.b.put(at, c)
		case coach.CueLift, coach.CueLower:
			c.Phrase = t.opens(at, m, t.room(ms, i))
			t.b.put(at, c)
		default:
			t.b.put(at, c)
		}
	}
}

// room is how long may be spoken from mark i on: to the next movement, less
// the announcement of the last repetition where that comes first.
func (t *setSpeech) room(ms []tempo.Mark, i int) coach.Samples {
	var ahead coach.Samples
	for _, m := range ms[i+1:] {
		switch m.Kind {
		case coach.CueSay:
			ahead = t.b.s.speech.Length(coach.Phrase{ID: coach.SayLastOne}) + t.gap
		case coach.CueLift, coach.CueLower:
			return m.At - ms[i].At - ahead - t.gap
		}
	}
	return ms[i].Length - t.gap
}

// opens chooses what is said at the start of a movement: the fullest that
// fits.
func (t *setSpeech) opens(at coach.Samples, m tempo.Mark, room coach.Samples) coach.Phrase {
	s := t.b.s
	verb := s.about(coach.SayVerb)
	verb.Phase = coach.Phase(m.Kind)
	var choices []coach.Phrase
	if verb.Phase == s.current().First {
		count := coach.Phrase{ID: coach.SayCount, N: m.Rep}
		if m.Rep < t.from+verbsInFull {
			both := verb
			both.ID, both.N = coach.SayCountVerb, m.Rep
			choices = append(choices, both)
		}
		choices = append(choices, count)
	} else {
		choices = append(choices, verb)
	}
	for _, p := range choices {
		if n := s.speech.Length(p); n <= room {
			t.free = at + n + t.gap
			return p
		}
	}
	return coach.Phrase{}
}

// ahead puts what must be over by sample due before it, if it can be said
// without talking over anything. A breath that cannot be said still sounds.
func (t *setSpeech) ahead(due coach.Samples, m tempo.Mark, c coach.Cue) {
	s := t.b.s
	p := coach.Phrase{ID: coach.SayLastOne}
	if m.Kind == coach.CueBreath {
		p = t.breath(m.Rep)
	}
	at := due - s.speech.Length(p) - t.gap
	switch {
	case at >= t.free:
		c.Phrase = p
		t.free = due
	case m.Kind == coach.CueBreath:
		at = due - s.rate.At(breathAlone)
	default:
		return
	}
	t.b.put(at, c)
}

// breath alternates between breathing out with the effort and breathing
// freely: one breath in five seconds is too slow for some hearts.
func (t *setSpeech) breath(rep int) coach.Phrase {
	s := t.b.s
	if rep/s.current().Pace.BreathEvery%2 == 1 {
		return s.about(coach.SayOutAs)
	}
	return coach.Phrase{ID: coach.SayFreely}
}
