package review

import (
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
)

// Item is one exercise of a session.
type Item struct {
	Number     int
	Exercise   string
	Dose       coach.Dose
	Sides      coach.Sides // empty where the log does not say
	Sets       []*Set
	Skipped    bool
	Result     dose.Result
	Reserve    coach.Reserve // the lowest answered
	Unanswered bool          // a set was led whose effort question nobody answered
	Known      bool          // the dose was logged
}

// Set is one set on one side.
type Set struct {
	Number         int
	Side           coach.Side
	Led, Confirmed int
	Ended          coach.SetEnding // empty where the set was lost
	Reserve        coach.Reserve   // as answered after it
	Work           time.Duration   // from the tap that began it to its end
	Tension        time.Duration   // in led repetitions
	Rest           time.Duration   // logged after it; 0 where none was
	Pace           Pace
}

// Worked reports whether at least one repetition was led.
func (it *Item) Worked() bool {
	return slices.ContainsFunc(it.Sets, func(s *Set) bool { return s.Led > 0 })
}

// Led is how many repetitions were led, over sets and sides.
func (it *Item) Led() int {
	n := 0
	for _, s := range it.Sets {
		n += s.Led
	}
	return n
}

// VolumeGrams is the mass of one dumbbell times the repetitions led; 0 for a
// band or the body alone.
func (it *Item) VolumeGrams() float64 { return it.Dose.Load.Grams() * float64(it.Led()) }

// work reads an entry of an item.
func (r *reading) work(e *coach.Entry) {
	if e.Kind == coach.EntryItemStart || (e.Item > 0 && (r.item == nil || r.item.Number != e.Item)) {
		r.beginItem(e)
	}
	switch e.Kind {
	case coach.EntrySetStart:
		r.beginSet(e)
	case coach.EntryRep:
		r.rep(e)
	case coach.EntrySetEnd:
		r.endSet(e)
	case coach.EntryEffort:
		r.effort(e)
	case coach.EntryRestEnd:
		if d, ok := e.Data.(*coach.RestEndData); ok && r.item != nil && len(r.item.Sets) > 0 {
			r.item.Sets[len(r.item.Sets)-1].Rest = time.Duration(d.Seconds)
		}
	case coach.EntrySkip:
		if r.item != nil {
			r.item.Skipped, r.set = true, nil
			if d, ok := e.Data.(*coach.SkipData); ok {
				r.lost(d.Led)
			}
		}
	}
}

func (r *reading) beginItem(e *coach.Entry) {
	it := &Item{Number: e.Item, Exercise: e.Exercise}
	if d, ok := e.Data.(*coach.ItemStartData); ok {
		it.Dose = coach.Dose{Load: d.Load, Reps: d.Reps, Sets: d.Sets, Stage: d.Stage}
		it.Sides, it.Known = d.Sides, true
	} else if e.Kind != coach.EntrySkip {
		r.s.doubt("the beginning of %s is missing", e.Exercise)
	}
	r.s.Items = append(r.s.Items, it)
	r.item, r.set = it, nil
}

func (r *reading) beginSet(e *coach.Entry) {
	if r.item == nil {
		return
	}
	r.set, r.from, r.reps = &Set{Number: e.Set, Side: e.Side}, e.Sample, nil
	r.item.Sets = append(r.item.Sets, r.set)
	if r.s.SetSpan.To == 0 {
		r.s.SetSpan.From = seconds(e.Sample)
	}
	r.setsUntil(e.Sample)
}

// setsUntil notes where in the session the last set ends, as far as it was read.
// One that was lost ends with its last repetition.
func (r *reading) setsUntil(at coach.Samples) {
	r.s.SetSpan.To = max(r.s.SetSpan.To, seconds(at))
}

// lost notes what was led of a set that has no end.
func (r *reading) lost(led int) {
	if n := len(r.item.Sets); n > 0 {
		if s := r.item.Sets[n-1]; s.Ended == "" {
			s.Led = max(s.Led, led)
		}
	}
}

func (r *reading) rep(e *coach.Entry) {
	if r.set == nil {
		return // the gap before it is marked by its number
	}
	p := rep{number: e.Rep, end: e.Sample}
	if d, ok := e.Data.(*coach.RepData); ok && d.Confirmed {
		p.tap = d.TapSample
		r.set.Confirmed++
	}
	r.set.Led++
	r.reps = append(r.reps, p)
	r.setsUntil(e.Sample)
}

func (r *reading) endSet(e *coach.Entry) {
	if r.item == nil {
		return
	}
	d, ok := e.Data.(*coach.SetEndData)
	if !ok {
		r.s.doubt("the end of a set does not say how it ended")
		return
	}
	s := r.set
	if s == nil {
		r.s.doubt("the beginning of a set is missing")
		r.beginSet(e)
		s = r.set
	}
	if len(r.reps) > 0 && (d.Led != s.Led || d.Confirmed != s.Confirmed) {
		r.s.doubt("a set counts other repetitions than were logged")
	}
	s.Led, s.Confirmed, s.Ended = d.Led, d.Confirmed, d.Ended
	s.Work = seconds(e.Sample - r.from)
	s.measure(r.reps)
	r.setsUntil(e.Sample)
	r.set = nil
}

func (r *reading) effort(e *coach.Entry) {
	d, ok := e.Data.(*coach.EffortData)
	if !ok || r.item == nil || len(r.item.Sets) == 0 {
		return
	}
	r.item.Sets[len(r.item.Sets)-1].Reserve = d.Reserve
}

// settle works out how the exercise went, once all of it has been read.
func (it *Item) settle(s *Session) {
	it.Result = dose.Cut
	if it.complete() {
		it.Result = dose.Complete
	}
	for _, set := range it.Sets {
		if set.Ended == coach.EndedEnough {
			it.Result = dose.Short
		}
		it.Reserve = lower(it.Reserve, set.Reserve)
	}
	for _, set := range it.Sets {
		it.Unanswered = it.Unanswered || it.asked(set.Number) && !it.answered(set.Number)
	}
	if it.Result == dose.Complete && it.Known && !it.plausible() {
		s.doubt("a complete set of %s led other repetitions than prescribed", it.Exercise)
	}
}

// complete reports whether every set was led to its end on every side.
func (it *Item) complete() bool {
	if !it.Known || it.Skipped || it.Dose.Sets < 1 || it.Dose.Sets > len(it.Sets) {
		return false
	}
	for n := 1; n <= it.Dose.Sets; n++ {
		for _, side := range it.passes() {
			if !slices.ContainsFunc(it.Sets, func(s *Set) bool {
				return s.Number == n && s.Ended == coach.EndedComplete && (side == coach.Both || s.Side == side)
			}) {
				return false
			}
		}
	}
	return !slices.ContainsFunc(it.Sets, func(s *Set) bool { return s.Ended != coach.EndedComplete })
}

// passes are the sides a set is led on, one after the other. Where the log
// does not say, the sides met tell: one side alone can't be told from half of
// both, and counts as half.
func (it *Item) passes() []coach.Side {
	if it.Sides != "" {
		return it.Sides.Passes()
	}
	if slices.ContainsFunc(it.Sets, func(s *Set) bool { return s.Side == coach.Left || s.Side == coach.Right }) {
		return coach.EachSide.Passes()
	}
	return []coach.Side{coach.Both}
}

// plausible reports whether every complete set led the repetitions prescribed.
func (it *Item) plausible() bool {
	return !slices.ContainsFunc(it.Sets, func(s *Set) bool { return s.Ended == coach.EndedComplete && s.Led != it.Dose.Reps })
}

// asked reports whether set n came to where its effort is asked: to the end of
// its last side, or to "enough" on any.
func (it *Item) asked(n int) bool {
	passes := it.passes()
	last := passes[len(passes)-1]
	return slices.ContainsFunc(it.Sets, func(s *Set) bool {
		return s.Number == n && (s.Ended == coach.EndedEnough ||
			s.Ended == coach.EndedComplete && (last == coach.Both || s.Side == last))
	})
}

func (it *Item) answered(n int) bool {
	return slices.ContainsFunc(it.Sets, func(s *Set) bool { return s.Number == n && s.Reserve != "" })
}

// lower is the lower of two answers; an answer is lower than none.
func lower(a, b coach.Reserve) coach.Reserve {
	for _, r := range []coach.Reserve{coach.ReserveNone, coach.ReserveFew, coach.ReserveMany} {
		if a == r || b == r {
			return r
		}
	}
	return ""
}
