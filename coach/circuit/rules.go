package circuit

// never is more clashes than any order has.
const never = 1 << 20

// rules say in which orders a patient may make their visits. left holds, for
// every set of visits made and the last of them, the fewest muscle clashes of
// any allowed order of the rest; orders with more than that are not allowed.
type rules struct {
	visits []Visit
	fixed  bool
	least  int
	left   []int16 // [made*(n+1)+last+1], -1 while not known
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
	r := &rules{visits: who.Visits, fixed: who.Fixed}
	r.left = make([]int16, (len(r.visits)+1)<<len(r.visits))
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
	v := &r.visits[next]
	matLeft := false
	for i := range r.visits {
		if made>>i&1 == 1 || i == next {
			continue
		}
		other := &r.visits[i]
		if r.fixed && i < next && other.Kind == v.Kind || order(other.Kind) < order(v.Kind) {
			return never
		}
		matLeft = matLeft || other.Mat
	}
	if last < 0 {
		return 0
	}
	before := &r.visits[last]
	if before.Mat && !v.Mat && matLeft {
		return never // they would have to get down again
	}
	if before.Kind == Work && v.Kind == Work && before.Last != "" && before.Last == v.First {
		return 1
	}
	return 0
}

// order ranks the kinds as they follow one another.
func order(k Kind) int { return [...]int{Work: 1, WarmUp: 0, CoolDown: 2}[k] }

// rest is the fewest clashes of the visits not made yet.
func (r *rules) rest(made uint32, last int) int {
	n := len(r.visits)
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
	for next := range r.visits {
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
