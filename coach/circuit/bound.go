package circuit

import (
	"fmt"
	"slices"
)

// bound is a time before which no timetable ends, and what makes it so.
func (s *shop) bound() (int, string) {
	best, why := 0, "nothing to do"
	take := func(b int, format string, args ...any) {
		if b > best {
			best, why = b, fmt.Sprintf(format, args...)
		}
	}
	for j, who := range s.p.Patients {
		if b := s.patientBound(j); b > s.soonest(j) {
			take(b, "all of %s's visits, rests and walks one after the other", who.Tag)
		}
	}
	for i, place := range s.p.Places {
		take(s.placeBound(i), "what can be done nowhere but at %s", place.Name)
	}
	c := newCrowd(s)
	take(c.coolDown(), "how many can warm up and cool down at once")
	take(c.places(s.workOfPlaces()), "how many can warm up and cool down at once, and the work of the busiest places")
	return best, why
}

// day is what a patient's day takes at least, alone in the gym.
type day struct {
	warm, toWork, work, fromWork, cool int // toWork and fromWork are walks
}

func (d day) sum() int { return d.warm + d.toWork + d.work + d.fromWork + d.cool }

// patientBound is the earliest end of a patient alone in the gym.
func (s *shop) patientBound(j int) int { return s.soonest(j) + s.day(j).sum() }

// soonest is when the first visit of a patient that has not begun can begin.
func (s *shop) soonest(j int) int {
	at := s.since[j]
	for v, b := s.of(j); v < b; v++ {
		if s.begun[v] != none {
			at = max(at, s.begun[v]+s.visits[v].shortest())
		}
	}
	return at
}

func (s *shop) day(j int) day {
	var d day
	a, b := s.of(j)
	var gaps []int
	for v := a; v < b; v++ {
		if s.begun[v] != none {
			continue
		}
		length := s.visits[v].shortest()
		switch s.kind(v) {
		case WarmUp:
			d.warm += length
		case CoolDown:
			d.cool += length
		default:
			d.work += length
			gaps = append(gaps, s.least(j, Work, v))
		}
	}
	slices.Sort(gaps)
	for i := range max(0, len(gaps)-1) { // all but one item come after another
		d.work += gaps[i]
	}
	d.toWork, d.fromWork = s.leastBetween(j, WarmUp, Work), s.leastBetween(j, Work, CoolDown)
	return d
}

func (s *shop) kind(v int) Kind {
	at := &s.visits[v]
	return s.p.Patients[at.patient].Visits[at.nth].Kind
}

// least is the least gap from any other of a patient's visits of a kind to v.
func (s *shop) least(j int, from Kind, v int) int {
	least := none
	a, b := s.of(j)
	for u := a; u < b; u++ {
		if u == v || s.kind(u) != from || s.begun[u] != none {
			continue
		}
		if g := s.leastGap(u, v); least == none || g < least {
			least = g
		}
	}
	return max(0, least)
}

// leastBetween is the least gap from a visit of one kind to one of another.
func (s *shop) leastBetween(j int, from, to Kind) int {
	least := none
	a, b := s.of(j)
	for v := a; v < b; v++ {
		if s.kind(v) != to || s.begun[v] != none {
			continue
		}
		if g := s.least(j, from, v); least == none || g < least {
			least = g
		}
	}
	return max(0, least)
}

// leastGap is the least time from u to v over all their choices.
func (s *shop) leastGap(u, v int) int {
	least := -1
	for i := range s.visits[u].choices {
		for k := range s.visits[v].choices {
			g := s.gap(u, &s.visits[u].choices[i], v, &s.visits[v].choices[k])
			if least < 0 || g < least {
				least = g
			}
		}
	}
	return least
}

// job is a visit as one place sees it.
type job struct{ head, length, tail int }

// placeBound is the earliest end of what only one place can host, however it
// is shared out over the place's lanes: for every set of visits that cannot
// begin before some time nor be followed by less than some time, the work
// between is at least the sum.
func (s *shop) placeBound(place int) int {
	var jobs []job
	for v := range s.visits {
		if only := s.visits[v].choices; s.begun[v] == none && only[0].option.Place == place && only[len(only)-1].option.Place == place && s.onePlace(v) {
			jobs = append(jobs, s.jobOf(v))
		}
	}
	lanes := min(s.p.Places[place].Capacity, len(s.p.Patients))
	best := 0
	for _, from := range jobs {
		for _, to := range jobs {
			sum := 0
			for _, x := range jobs {
				if x.head >= from.head && x.tail >= to.tail {
					sum += x.length
				}
			}
			if sum > 0 {
				best = max(best, from.head+(sum+lanes-1)/lanes+to.tail)
			}
		}
	}
	return best
}

// workOfPlaces is, of each place for one, the work that can be done nowhere
// else, the most first; the longest visit of it; and the least gap between two
// visits of a patient's work.
func (s *shop) workOfPlaces() (work []int, longest, gap int) {
	work = make([]int, len(s.p.Places))
	gap = -1
	for v := range s.visits {
		if s.begun[v] != none || s.kind(v) != Work {
			continue
		}
		who := s.visits[v].patient
		a, b := s.of(who)
		for u := a; u < b; u++ {
			if u != v && s.kind(u) == Work {
				gap = lesser(gap, s.leastGap(u, v))
			}
		}
		if at := s.visits[v].choices[0].option.Place; s.p.Places[at].Capacity == 1 && s.onePlace(v) {
			work[at] += s.visits[v].shortest()
			for _, c := range s.visits[v].choices {
				longest = max(longest, c.length)
			}
		}
	}
	slices.Sort(work)
	slices.Reverse(work)
	return work, longest, max(0, gap)
}

func (s *shop) onePlace(v int) bool {
	for _, c := range s.visits[v].choices {
		if c.option.Place != s.visits[v].choices[0].option.Place {
			return false
		}
	}
	return true
}

// jobOf is a visit with what must come before and after it.
func (s *shop) jobOf(v int) job {
	who := s.visits[v].patient
	p, d := &s.p.Patients[who], s.day(who)
	j := job{head: s.soonest(who), length: s.visits[v].shortest()}
	switch s.kind(v) {
	case WarmUp:
		j.tail = d.toWork + d.work + d.fromWork + d.cool
	case CoolDown:
		j.head += d.warm + d.toWork + d.work + d.fromWork
	default:
		j.head += d.warm + d.toWork
		j.tail = d.fromWork + d.cool
	}
	if !p.Fixed {
		return j
	}
	for u, b := s.of(who); u < b; u++ {
		switch length := s.visits[u].shortest() + s.narrow[who]; {
		case s.kind(u) != Work || s.kind(v) != Work || s.begun[u] != none:
		case u < v:
			j.head += length
		case u > v:
			j.tail += length
		}
	}
	return j
}
