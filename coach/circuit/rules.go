package circuit

// never is more clashes than any order has.
const never = 1 << 20

// rules say in which orders a patient may make their visits. left holds, for
// every set of visits made and the last of them, the fewest muscle clashes of
// any allowed order of the rest; orders with more than that are not allowed.
type rules struct {
	n     int
	first []uint32 // of each visit, those that must be made before it
	mats  uint32   // the visits on the mat
	clash []uint32 // of each visit, those that would work the same muscle next
	least int
	left  []int16 // [made*(n+1)+last+1], -1 while not known
}

// ruled reports whether anything limits the order of a patient's visits.
func ruled(who Patient) bool {
	for _, v := range who.Visits {
		if v.Kind != Work || v.Mat || v.First != "" || v.Last != "" {
			return true
		}
	}
	return who.Fixed
}

// newRules gives a patient's rules, of whom some visits have begun in an order;
// nil where every order is allowed.
func newRules(who Patient, begun []int) *rules {
	if !ruled(who) || len(who.Visits) > mostVisits {
		return nil
	}
	r := &rules{n: len(who.Visits)}
	for i, v := range who.Visits {
		var first, clash uint32
		for k, other := range who.Visits {
			switch {
			case i == k:
			case order(other.Kind) < order(v.Kind), who.Fixed && k < i && other.Kind == v.Kind,
				who.MatLast && !who.Fixed && other.Kind == Work && !other.Mat && v.Mat:
				first |= 1 << k
			}
			if i != k && v.Kind == Work && other.Kind == Work && v.Last != "" && v.Last == other.First {
				clash |= 1 << k
			}
		}
		if v.Mat {
			r.mats |= 1 << i
		}
		r.first, r.clash = append(r.first, first), append(r.clash, clash)
	}
	r.left = make([]int16, (r.n+1)<<r.n)
	for i := range r.left {
		r.left[i] = -1
	}
	made, last := uint32(0), -1
	for _, v := range begun {
		r.least += r.step(made, last, v)
		made, last = made|1<<v, v
	}
	r.least = min(never, r.least+r.rest(made, last))
	return r
}

// step is the clashes of going from one visit (-1 before the first) to the
// next when those in made are made; never where it is not allowed.
func (r *rules) step(made uint32, last, next int) int {
	to := uint32(1) << next
	switch {
	case r.first[next]&^made != 0:
		return never
	case last < 0:
		return 0
	case r.mats>>last&1 == 1 && r.mats&to == 0 && r.mats&^made != 0:
		return never // they would have to get down again
	}
	return int(r.clash[last] >> next & 1)
}

// order ranks the kinds as they follow one another.
func order(k Kind) int { return [...]int{Work: 1, WarmUp: 0, CoolDown: 2}[k] }

// rest is the fewest clashes of the visits not made yet.
func (r *rules) rest(made uint32, last int) int {
	n := r.n
	if made == 1<<n-1 {
		return 0
	}
	at := int(made)*(n+1) + last + 1
	if known := r.left[at]; known >= 0 {
		if known == 1<<14 {
			return never
		}
		return int(known)
	}
	best := never
	for next := range r.n {
		if made>>next&1 == 0 {
			if c := r.step(made, last, next); c < never {
				best = min(best, c+r.rest(made|1<<next, next))
			}
		}
	}
	r.left[at] = int16(min(best, 1<<14))
	return best
}

// may reports whether a visit may come next in an order that stays among the
// best.
func (r *rules) may(made uint32, last, next int) bool {
	if r == nil {
		return true
	}
	c := r.step(made, last, next)
	return c < never && c+r.rest(made|1<<next, next) == r.rest(made, last)
}

// allows reports whether a whole order of visits is allowed.
func (r *rules) allows(visits []int) bool {
	if r == nil {
		return true
	}
	made, last, clashes := uint32(0), -1, 0
	for _, v := range visits {
		clashes += r.step(made, last, v)
		made, last = made|1<<v, v
	}
	return clashes == r.least
}
