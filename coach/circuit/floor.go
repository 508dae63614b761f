package circuit

import (
	"fmt"
	"math/rand/v2"
	"slices"
)

// Nowhere is the place of a visit that is not made after all.
const Nowhere = -1

// Floor is how a class stands while it goes on. All its lists stand beside the
// problem's.
type Floor struct {
	Now    int      // seconds from the beginning of the class
	Begun  [][]bool // [patient][visit]: at work on it, or done with it
	Slots  [][]Slot // of what has begun, as it really is: End is when it ended or is to end
	Ready  []int    // of each patient: nothing begins before; for who is late, or sits down after a stop
	Left   []bool   // of each patient: gone for today
	Closed []bool   // of each place: nobody comes there any more
}

// FloorAt is how a class stands at a time if everything has gone as the
// timetable says.
func (t *Timetable) FloorAt(p *Problem, now int) Floor {
	f := Floor{Now: now, Ready: make([]int, len(p.Patients)), Left: make([]bool, len(p.Patients)), Closed: make([]bool, len(p.Places))}
	for _, slots := range t.Slots {
		begun := make([]bool, len(slots))
		for n, s := range slots {
			begun[n] = s.Place != Nowhere && s.Arrive <= now
		}
		f.Begun, f.Slots = append(f.Begun, begun), append(f.Slots, slices.Clone(slots))
	}
	return f
}

// Repair makes the rest of a timetable anew: what has begun stays where and
// when it is, nothing else begins before now, nobody who left is waited for and
// nobody goes to a place that closed. Visits that can no longer be made stand at
// Nowhere. It sets out from the order of the timetable, and leaves it only for
// one that ends sooner. Problem.Latest is not held to: Span says when it ends.
func Repair(p *Problem, t *Timetable, f Floor, o Options) (*Timetable, error) {
	return repair(p, t, f, o, false)
}

// repair, afresh, forgets the order of the timetable.
func repair(p *Problem, t *Timetable, f Floor, o Options, afresh bool) (*Timetable, error) {
	if err := f.check(p, t); err != nil {
		return nil, err
	}
	rest, where := f.problem(p)
	if err := rest.plain(); err != nil {
		return nil, fmt.Errorf("repairing the timetable: %w", err)
	}
	s := f.shop(rest, where)
	bound, why := s.bound()
	if o.Iterations == 0 {
		o.Iterations = DefaultIterations
	}
	if o.Stop == nil {
		o.Stop = func() bool { return false }
	}
	r := rand.New(rand.NewPCG(o.Seed, uint64(len(s.visits))))
	var best *chains
	others := 0
	if afresh {
		best, others = start(s, r, 0), starts
	} else {
		best = s.goOn(t, where)
	}
	best, proved, tries := s.improve(o, r, best, others, bound)
	got := best.timetable()
	out := &Timetable{Span: got.Span, Bound: max(proved, s.behind()), Why: why, Waiting: got.Waiting, Moved: got.Moved, Tries: tries}
	for j, who := range p.Patients {
		slots := make([]Slot, len(who.Visits))
		for n := range slots {
			slots[n].Place = Nowhere
		}
		for k, n := range where[j] {
			slots[n] = got.Slots[j][k]
			if f.Begun[j][n] {
				slots[n] = f.Slots[j][n]
			}
		}
		out.Slots = append(out.Slots, slots)
	}
	return out, nil
}

// check reports a floor that does not stand beside the problem.
func (f Floor) check(p *Problem, t *Timetable) error {
	n := len(p.Patients)
	if len(f.Begun) != n || len(f.Slots) != n || len(f.Ready) != n || len(f.Left) != n || len(t.Slots) != n || len(f.Closed) != len(p.Places) {
		return fmt.Errorf("the floor is of %d patients and %d places, the class of %d and %d", len(f.Begun), len(f.Closed), n, len(p.Places))
	}
	for j, who := range p.Patients {
		if len(f.Begun[j]) != len(who.Visits) || len(f.Slots[j]) != len(who.Visits) || len(t.Slots[j]) != len(who.Visits) {
			return fmt.Errorf("%s has %d visits, and the floor tells of %d", who.Tag, len(who.Visits), len(f.Begun[j]))
		}
		for k, begun := range f.Begun[j] {
			s := f.Slots[j][k]
			if begun && (s.Place < 0 || s.Place >= len(p.Places) || s.Arrive < 0 || s.Arrive > f.Now || s.Start < s.Arrive || s.End < s.Start) {
				return fmt.Errorf("%s: %s has begun, so it has a place and begins by %d: not %+v", who.Tag, who.Visits[k].Name, f.Now, s)
			}
		}
	}
	return nil
}

// problem is what is left of a class, with what has begun as it is; where are,
// of each patient, the visits in it by their number in p.
func (f Floor) problem(p *Problem) (*Problem, [][]int) {
	rest := &Problem{Places: p.Places, Walk: p.Walk}
	var where [][]int
	for j, who := range p.Patients {
		var kept []int
		visits := who.Visits
		who.Visits = nil
		for n, v := range visits {
			switch {
			case f.Begun[j][n]:
				s := f.Slots[j][n]
				v.Where = []Option{{Place: s.Place, Lead: s.Start - s.Arrive, Item: max(1, s.End-s.Start)}}
			case f.Left[j]:
				continue
			default:
				v.Where = slices.DeleteFunc(slices.Clone(v.Where), func(o Option) bool { return f.Closed[o.Place] })
				if len(v.Where) == 0 {
					continue
				}
			}
			who.Visits, kept = append(who.Visits, v), append(kept, n)
		}
		rest.Patients, where = append(rest.Patients, f.follows(who, j, kept)), append(where, kept)
	}
	return rest, where
}

// follows is a patient whose rules what has begun does not break already: who
// got up from the mat, or left the order, is not asked for the impossible.
func (f Floor) follows(who Patient, j int, kept []int) Patient {
	var begun []int
	for k, n := range kept {
		if f.Begun[j][n] {
			begun = append(begun, k)
		}
	}
	slices.SortFunc(begun, func(a, b int) int { return f.Slots[j][kept[a]].Arrive - f.Slots[j][kept[b]].Arrive })
	possible := func() bool {
		r := newRules(who, begun)
		return r == nil || r.least < never
	}
	if possible() {
		return who
	}
	who.Fixed, who.MatLast = false, false
	if possible() {
		return who
	}
	for _, k := range begun {
		who.Visits[k].Mat = false
	}
	return who
}

// shop lays out what is left, with what has begun where and when it is.
func (f Floor) shop(rest *Problem, where [][]int) *shop {
	s := newShop(rest)
	for j := range rest.Patients {
		s.since[j] = max(s.since[j], f.Now, f.Ready[j])
		a, _ := s.of(j)
		for k, n := range where[j] {
			if f.Begun[j][n] {
				s.begun[a+k] = f.Slots[j][n].Arrive
			}
		}
	}
	free := fill(len(s.place), 0) // of each lane
	for _, v := range s.inOrderBegun() {
		choices := s.visits[v].choices
		best := 0
		for k, c := range choices {
			now := choices[best].lane
			if free[now] > s.begun[v] && free[c.lane] < free[now] {
				best = k
			}
		}
		s.visits[v].choices = choices[best : best+1]
		free[choices[best].lane] = max(free[choices[best].lane], s.begun[v]+choices[best].length)
	}
	for j, who := range rest.Patients {
		s.rules[j] = newRules(who, s.orderBegun(j))
	}
	return s
}

// inOrderBegun are the visits that have begun, in the order they did.
func (s *shop) inOrderBegun() []int {
	var out []int
	for v, at := range s.begun {
		if at != none {
			out = append(out, v)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return s.begun[a] - s.begun[b] })
	return out
}

// orderBegun are the same of one patient, by their number among the patient's.
func (s *shop) orderBegun(j int) []int {
	var out []int
	for _, v := range s.inOrderBegun() {
		if s.visits[v].patient == j {
			out = append(out, s.visits[v].nth)
		}
	}
	return out
}

// went is 0 for what has begun, and 1 for what has not.
func (s *shop) went(v int) int {
	if s.begun[v] != none {
		return 0
	}
	return 1
}

// toMake is how many visits have not begun.
func (s *shop) toMake() (n int) {
	for v := range s.visits {
		n += s.went(v)
	}
	return n
}

// behind is when the last visit that has begun ends.
func (s *shop) behind() int {
	end := 0
	for v, at := range s.begun {
		if at != none {
			end = max(end, at+s.visits[v].shortest())
		}
	}
	return end
}

// goOn keeps the order of a timetable in progress as far as it still can be
// kept: the visits that have not begun, in the order they were to.
func (s *shop) goOn(t *Timetable, where [][]int) *chains {
	p := newPartial(s)
	was := func(v int) Slot { return t.Slots[s.visits[v].patient][where[s.visits[v].patient][s.visits[v].nth]] }
	var order []int
	for v := range s.visits {
		if s.begun[v] == none {
			order = append(order, v)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return was(a).Arrive - was(b).Arrive })
	for len(order) > 0 {
		i := slices.IndexFunc(order, p.may) // the next of its patient's that the rules let come next
		v := order[i]
		best, at := none, 0
		for k, c := range s.visits[v].choices {
			if c.option.Place != was(v).Place && s.keeps(v, was(v).Place) {
				continue
			}
			if e := p.earliest(v, k); best == none || e < at {
				best, at = k, e
			}
		}
		p.make(v, best, at)
		order = slices.Delete(order, i, i+1)
	}
	return p.chains()
}

// keeps reports whether a visit can still be at a place.
func (s *shop) keeps(v, place int) bool {
	return slices.ContainsFunc(s.visits[v].choices, func(c choice) bool { return c.option.Place == place })
}
