package circuit

import (
	"errors"
	"fmt"
	"math/rand/v2"
)

// Options say how hard to try.
type Options struct {
	Seed       uint64
	Iterations int // timetables to look at, at most; 0 for DefaultIterations
	// Stop is asked now and then, and ends the search where it says so; nil
	// never does. It is the only way time comes in.
	Stop func() bool
	// Found is told of each better timetable's span as it is found; may be nil.
	Found func(span int)
}

// DefaultIterations are enough for a class of thirty.
const DefaultIterations = 1_000_000

// How the tries are shared out.
const (
	starts    = 12
	soon      = 20_000  // tries before a small class is searched to the end
	mostNodes = 500_000 // of that search
)

// ErrImpossible is a class that no timetable can serve; the error around it
// says which patient, which place and why.
var ErrImpossible = errors.New("the class is impossible")

// Solve makes the timetable of a class. Where none can end in time, the error
// says which patient or place makes it so; where none was found that does, it
// says so and the timetable is given all the same.
func Solve(p *Problem, o Options) (*Timetable, error) {
	if err := p.plain(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrImpossible, err)
	}
	s := newShop(p)
	for j, who := range p.Patients {
		if err := contradiction(who, s.rules[j]); err != nil {
			return nil, fmt.Errorf("%w: %w", ErrImpossible, err)
		}
	}
	bound, why := s.bound()
	if p.Latest > 0 && bound > p.Latest {
		return nil, fmt.Errorf("%w: it cannot end by %s, since %s takes until %s at least", ErrImpossible, clock(p.Latest), why, clock(bound))
	}
	if o.Iterations == 0 {
		o.Iterations = DefaultIterations
	}
	if o.Stop == nil {
		o.Stop = func() bool { return false }
	}
	best, proved, tries := s.solve(o, bound)
	t := best.timetable()
	t.Bound, t.Why, t.Tries = proved, why, tries
	if proved > bound {
		t.Why = "every other order, tried to the end,"
	}
	if p.Latest > 0 && t.Span > p.Latest {
		return t, fmt.Errorf("no timetable that ends by %s was found: the best ends at %s, and none ends before %s; a later end, fewer items or more time to search", clock(p.Latest), clock(t.Span), clock(proved))
	}
	return t, nil
}

// solve gives the best chains found, a bound that holds, and the tries made.
func (s *shop) solve(o Options, bound int) (*chains, int, int) {
	r := rand.New(rand.NewPCG(o.Seed, uint64(len(s.visits))))
	best := start(s, r, 0)
	return s.improve(o, r, best, starts, bound)
}

// improve makes the best of a timetable, with so many other beginnings tried.
func (s *shop) improve(o Options, r *rand.Rand, best *chains, starts, bound int) (*chains, int, int) {
	told := func(span int) {
		if o.Found != nil {
			o.Found(span)
		}
	}
	told(best.span)
	for n := 1; n < starts && best.span > bound && !o.Stop(); n++ {
		if c := start(s, r, n); c.span < best.span {
			best = c
			told(best.span)
		}
	}
	x := newSearcher(s, r, best, bound, o.Stop)
	x.found = told
	small := s.toMake() <= mostProved
	if small {
		x.run(min(soon, o.Iterations))
		found, whole, nodes := prove(s, x.best.span, bound, min(mostNodes, o.Iterations/2), o.Stop)
		x.tries += nodes
		if found != nil {
			x.best.copyFrom(found)
			told(found.span)
		}
		if whole {
			bound = x.best.span
			x.bound = bound
		}
	}
	x.run(o.Iterations - x.tries)
	x.best.time()
	return x.best, bound, starts + x.tries + polish(x.best, r, o.Stop)
}

// timetable writes the chains as times.
func (c *chains) timetable() *Timetable {
	t := &Timetable{Span: c.span, Slots: make([][]Slot, len(c.s.rules)), Moved: c.goal().moved}
	for j, who := range c.s.p.Patients {
		a, b := c.s.of(j)
		end, busy := who.Arrives, 0
		for v := a; v < b; v++ {
			ch := c.choice(v)
			slot := Slot{Place: ch.option.Place, Arrive: c.head[v], Start: c.head[v] + ch.option.Lead, End: c.head[v] + ch.length}
			t.Slots[j] = append(t.Slots[j], slot)
			end = max(end, slot.End)
			busy += ch.length
			if w := c.next[onPatient][v]; w != none {
				busy += c.gap(onPatient, v, w)
			}
		}
		t.Waiting += max(0, end-who.Arrives-busy) // what has been may have been quicker than planned
	}
	return t
}

// clock writes seconds from the beginning of the class as minutes and seconds.
func clock(s int) string { return fmt.Sprintf("%d:%02d", s/60, s%60) }
