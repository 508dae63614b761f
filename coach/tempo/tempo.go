// Package tempo turns a dose into phases, beats, breaths and count-in at
// exact samples.
//
// It is pure: no clock, no sound, no words. Every position is computed from
// the set's origin as a whole number of nanoseconds and rounded to a sample
// once, so nothing accumulates: repetition 700 of an hour-long set stands
// exactly where arithmetic puts it, at any tempo and any sample rate.
package tempo

import (
	"time"

	"evenbell/coach"
)

// Beat is the time between count-in beats and between the beats inside a
// phase: people cannot keep time to intervals much over a second without
// reacting late (Repp & Doggett 2007: above about two seconds).
const Beat = time.Second

// Set is one set on one side, led from repetition From to repetition Reps.
type Set struct {
	Rate  coach.Rate
	Pace  coach.Pace
	First coach.Phase // Lift or Lower
	Sides coach.Sides
	Side  coach.Side // of this pass; ignored where sides alternate
	From  int        // from 1; more after a pause
	Reps  int
}

// Mark is one thing that happens at a sample of the set, counted from the
// first count-in beat.
//
// A Breath and the CueSay that announces the last repetition carry the sample
// by which they must be over, for only the caller knows how long it speaks.
type Mark struct {
	At     coach.Samples
	Kind   coach.CueKind
	Rep    int           // 0 in the count-in
	Side   coach.Side    // NoSide in the count-in
	Length coach.Samples // of a phase; 0 otherwise
	N      int           // count-in: beats left, this one included
}

// Period is the time one repetition takes.
func Period(p coach.Pace) time.Duration { return p.Lift + p.Top + p.Lower + p.Bottom }

// RepSide is the side repetition rep is for.
func (s Set) RepSide(rep int) coach.Side {
	if s.Sides != coach.Alternating {
		return s.Side
	}
	if rep%2 == 1 {
		return coach.Left
	}
	return coach.Right
}

// RepStart is the sample at which repetition rep begins, and at which the one
// before it ends; RepStart(Reps+1) is the end of the set.
func (s Set) RepStart(rep int) coach.Samples { return s.Rate.At(s.repStart(rep)) }

// End is the sample after the last repetition.
func (s Set) End() coach.Samples { return s.RepStart(s.Reps + 1) }

func (s Set) repStart(rep int) time.Duration {
	return time.Duration(s.Pace.CountIn)*Beat + time.Duration(rep-s.From)*Period(s.Pace)
}

// Marks lists the set in order of sample: count-in, then each repetition's
// phases with a beat at each whole second inside them, and what is due before
// a phase just ahead of that phase.
func (s Set) Marks() []Mark {
	var ms []Mark
	for i := range s.Pace.CountIn {
		ms = append(ms, Mark{At: s.Rate.At(time.Duration(i) * Beat), Kind: coach.CueCountIn, N: s.Pace.CountIn - i})
	}
	for rep := s.From; rep <= s.Reps; rep++ {
		ms = s.appendRep(ms, rep)
	}
	return ms
}

type phase struct {
	name coach.Phase
	d    time.Duration
}

// order lists the phases of a repetition as they follow one another.
func (s Set) order() [4]phase {
	p := s.Pace
	if s.First == coach.Lower {
		return [4]phase{{coach.Lower, p.Lower}, {coach.Bottom, p.Bottom}, {coach.Lift, p.Lift}, {coach.Top, p.Top}}
	}
	return [4]phase{{coach.Lift, p.Lift}, {coach.Top, p.Top}, {coach.Lower, p.Lower}, {coach.Bottom, p.Bottom}}
}

func (s Set) appendRep(ms []Mark, rep int) []Mark {
	side := s.RepSide(rep)
	at := s.repStart(rep)
	if rep == s.Reps && rep > s.From {
		ms = append(ms, Mark{At: s.Rate.At(at), Kind: coach.CueSay, Rep: rep, Side: side})
	}
	for _, ph := range s.order() {
		if ph.d == 0 {
			continue
		}
		if ph.name == coach.Lift && s.breathes(rep) {
			ms = append(ms, Mark{At: s.Rate.At(at), Kind: coach.CueBreath, Rep: rep, Side: side})
		}
		ms = s.appendPhase(ms, ph, at, rep, side)
		at += ph.d
	}
	return ms
}

func (s Set) appendPhase(ms []Mark, ph phase, at time.Duration, rep int, side coach.Side) []Mark {
	start := s.Rate.At(at)
	ms = append(ms, Mark{At: start, Kind: coach.PhaseCue(ph.name), Rep: rep, Side: side,
		Length: s.Rate.At(at+ph.d) - start})
	for b := Beat; b < ph.d; b += Beat {
		ms = append(ms, Mark{At: s.Rate.At(at + b), Kind: coach.CueBeat, Rep: rep, Side: side})
	}
	return ms
}

// breathes reports whether a breathing cue is due before the lift of rep:
// every BreathEvery repetitions, but never inside the count-in.
func (s Set) breathes(rep int) bool {
	if s.Pace.BreathEvery == 0 || rep%s.Pace.BreathEvery != 0 {
		return false
	}
	return rep > s.From || s.First == coach.Lower
}
