package review

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"
)

// Week is one week of attendance, from its Monday.
type Week struct {
	Monday coach.Day
	Days   int // days on which at least one repetition was led
	Wanted int
}

// Weeks are the weeks from the one with day from to the one with day to,
// against wanted sessions a week. The parts of a visit count as one, on the day
// it began, and several visits on one day count once.
func (l *Log) Weeks(from, to coach.Day, wanted int) []Week {
	var out []Week
	place := map[coach.Day]int{}
	for m := monday(from); m <= to; m = m.AddDays(7) {
		place[m] = len(out)
		out = append(out, Week{Monday: m, Wanted: wanted})
	}
	seen := map[coach.Day]bool{}
	for _, v := range l.Visits() {
		d := v.Day()
		if d == "" || seen[d] || d < from || d > to || !v.Worked() {
			continue
		}
		seen[d] = true
		out[place[monday(d)]].Days++
	}
	return out
}

func monday(d coach.Day) coach.Day {
	return d.AddDays(-(int(d.Time().Weekday()) + 6) % 7)
}

// Share is the share of the wanted sessions that were done, no week counting
// for more than it wanted; 1 where nothing was wanted.
func Share(weeks []Week) float64 {
	done, wanted := 0, 0
	for _, w := range weeks {
		done += min(w.Days, w.Wanted)
		wanted += w.Wanted
	}
	if wanted == 0 {
		return 1
	}
	return float64(done) / float64(wanted)
}

// Point is what one exercise came to in one session, on the day on which its
// visit began.
type Point struct {
	Day     coach.Day
	Session string
	Dose    coach.Dose
	Result  dose.Result
	Reserve coach.Reserve
	Led     int
	// Capacity is what could be lifted once, in the unit of the load; false in
	// Known where there is no mass, no answer or no whole set to tell it from.
	Capacity dose.Range
	Known    bool
}

// Trend is how one exercise went over time; sessions without a trusted time
// are left out.
func (l *Log) Trend(p *protocol.Protocol, exercise string) []Point {
	var out []Point
	for _, v := range l.Visits() {
		out = append(out, v.trend(p, exercise)...)
	}
	return out
}

func (v Visit) trend(p *protocol.Protocol, exercise string) []Point {
	var out []Point
	for _, s := range v.sessions() {
		for _, it := range s.Items {
			if it.Exercise != exercise || !it.Known || v.Day() == "" {
				continue
			}
			pt := Point{Day: v.Day(), Session: s.ID, Dose: it.Dose, Result: it.Result, Reserve: it.Reserve, Led: it.Led()}
			pt.Capacity, pt.Known = it.capacity(p)
			out = append(out, pt)
		}
	}
	return out
}

func (it *Item) capacity(p *protocol.Protocol) (dose.Range, bool) {
	l := it.Dose.Load
	if l.Kind() != coach.DumbbellLoad || it.Result != dose.Complete || it.Reserve == "" {
		return dose.Range{}, false
	}
	reps := it.Dose.Reps
	if it.Sides == coach.Alternating {
		reps = (reps + 1) / 2 // they count both sides together
	}
	r, err := dose.CapacityOf(p, float64(l.Milli())/1000, reps, it.Reserve)
	return r, err == nil
}

// Tension is the time in led repetitions over all sets.
func (s *Session) Tension() time.Duration {
	return s.sum(func(set *Set) time.Duration { return set.Tension })
}

// Work is the time from the beginning to the end of sets.
func (s *Session) Work() time.Duration {
	return s.sum(func(set *Set) time.Duration { return set.Work })
}

// Rest is the time of the rests logged.
func (s *Session) Rest() time.Duration {
	return s.sum(func(set *Set) time.Duration { return set.Rest })
}

func (s *Session) sum(f func(*Set) time.Duration) time.Duration {
	var d time.Duration
	for _, it := range s.Items {
		for _, set := range it.Sets {
			d += f(set)
		}
	}
	return d
}
