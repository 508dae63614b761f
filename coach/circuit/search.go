package circuit

import (
	"math"
	"math/rand/v2"
)

// searcher takes one visit of a longest path out of a timetable at a time and
// puts it back where the class then ends soonest, anywhere in its patient's
// order and on any lane that can host it. A place that is worse it takes the
// more readily the warmer it is (simulated annealing, Kirkpatrick, Gelatt and
// Vecchi, Science 220, 1983); rounds of cooling follow one another, each longer
// than the last.
type searcher struct {
	s     *shop
	r     *rand.Rand
	now   *chains
	best  *chains
	bound int
	tries int
	stop  func() bool
	found func(span int) // told of each better timetable

	first  []int // of each lane, the first visit
	head   []int // as in now, without the visit that is out
	tail   []int
	span   int
	path   []int
	row    []int  // the visits of its patient, in order
	places []seat // on the patient's chain
}

// seat is a place between two visits of a chain, either of them none, and how
// far it is from there to both ends of the class.
type seat struct{ u, w, head, tail int }

// spot is where a visit can be put: on its patient's chain, and on a lane's.
type spot struct {
	patient, lane seat
	pick          int
}

func newSearcher(s *shop, r *rand.Rand, from *chains, bound int, stop func() bool) *searcher {
	x := &searcher{s: s, r: r, now: newChains(s), best: newChains(s), bound: bound, stop: stop, found: func(int) {},
		first: make([]int, len(s.place)), head: make([]int, len(s.visits)), tail: make([]int, len(s.visits))}
	x.now.copyFrom(from)
	x.best.copyFrom(from)
	x.firsts()
	return x
}

// How warm a round begins and ends, against the mean length of a visit, and how
// long the first is. Found by trying Taillard's instances and invented classes.
const (
	warmest    = 0.3
	warm       = 0.15
	cold       = 0.04
	firstRound = 4_000
)

// run looks at up to so many timetables, and ends sooner at the bound or when
// stop says so.
func (x *searcher) run(tries int) {
	mean := 0.0
	for v := range x.s.visits {
		mean += float64(x.s.visits[v].shortest()) / float64(len(x.s.visits))
	}
	end, round := x.tries+tries, firstRound
	for n := 0; x.tries < end && !x.done(); n++ {
		from := warm
		if n%2 == 1 {
			from = warmest
		}
		x.cool(min(round, end-x.tries), from*mean, cold*mean)
		round += round / 2
	}
}

func (x *searcher) done() bool { return x.best.span <= x.bound || x.stop() }

// cool is one round.
func (x *searcher) cool(tries int, from, to float64) {
	slower := math.Pow(to/from, 1/float64(tries))
	for n, heat := 0, from; n < tries && x.best.span > x.bound; n, heat = n+1, heat*slower {
		if n%64 == 0 && x.stop() {
			return
		}
		x.tries++
		x.critical()
		if len(x.path) == 0 {
			return // all of it has begun
		}
		x.move(x.path[x.r.IntN(len(x.path))], heat)
		if x.now.span < x.best.span {
			x.best.copyFrom(x.now)
			x.found(x.best.span)
		}
	}
}

// critical collects one longest path, chosen by chance.
func (x *searcher) critical() {
	c := x.now
	x.path = x.path[:0]
	v, same := none, 0
	for _, u := range c.order {
		if c.head[u]+c.length(u) == c.span {
			if same++; x.r.IntN(same) == 0 {
				v = u
			}
		}
	}
	for v != none && x.s.begun[v] == none {
		x.path = append(x.path, v)
		before := none
		for k := range c.before {
			if u := c.before[k][v]; u != none && c.ready(k, u, v) == c.head[v] && (before == none || x.r.IntN(2) == 0) {
				before = u
			}
		}
		v = before
	}
}

// move puts v somewhere else, or leaves it where it is.
func (x *searcher) move(v int, heat float64) {
	c := x.now
	was := c.where(v)
	c.out(v)
	x.without(v)
	to, worth := x.look(v, was)
	if worse := worth - c.span; to.pick == none || worse > 0 && x.r.Float64() >= math.Exp(-float64(worse)/heat) {
		c.in(v, was)
		return
	}
	c.in(v, to)
	if !c.time() {
		c.out(v)
		c.in(v, was)
		c.time()
	}
	c.timeBack()
	x.firsts()
}

// firsts notes the first visit of each lane.
func (x *searcher) firsts() {
	for i := range x.first {
		x.first[i] = none
	}
	for v, u := range x.now.before[onLane] {
		if u == none {
			x.first[x.now.choice(v).lane] = v
		}
	}
}

// without works out heads and tails of all but v, which is out. The order holds
// for the others as it did: what is before v keeps its head, what is after it
// its tail.
func (x *searcher) without(v int) {
	c := x.now
	copy(x.head, c.head)
	copy(x.tail, c.tail)
	x.span = 0
	after := false
	for _, u := range c.order {
		switch {
		case u == v:
			after = true
			continue
		case after && x.s.begun[u] == none:
			x.head[u] = x.s.since[x.s.visits[u].patient]
			for k := range c.before {
				if b := c.before[k][u]; b != none {
					x.head[u] = max(x.head[u], x.head[b]+c.length(b)+c.gap(k, b, u))
				}
			}
		}
		x.span = max(x.span, x.head[u]+c.length(u))
	}
	for i := len(c.order) - 1; i >= 0; i-- {
		u := c.order[i]
		if u == v {
			after = false
			continue
		}
		if after {
			continue
		}
		x.tail[u] = 0
		for k := range c.next {
			if w := c.next[k][u]; w != none {
				x.tail[u] = max(x.tail[u], c.gap(k, u, w)+c.length(w)+x.tail[w])
			}
		}
	}
}

// look finds the best spot for v but the one it was in, equals by chance, and
// the span it gives; no pick where there is none.
func (x *searcher) look(v int, was spot) (spot, int) {
	c := x.now
	best, least, same := spot{pick: none}, math.MaxInt, 0
	x.rowOf(v)
	for k := range x.s.visits[v].choices {
		ch := &x.s.visits[v].choices[k]
		c.pick[v] = k
		x.seats(v)
		u, w := none, x.first[ch.lane]
		if w == v {
			w = was.lane.w
		}
		for {
			if w == none || x.s.begun[w] == none {
				lane := x.seat(onLane, u, v, w)
				for _, patient := range x.places {
					if k == was.pick && patient.u == was.patient.u && patient.w == was.patient.w && u == was.lane.u && w == was.lane.w || x.round(patient, lane) {
						continue
					}
					worth := max(x.span, max(patient.head, lane.head)+ch.length+max(patient.tail, lane.tail))
					if worth < least {
						best, least, same = spot{patient, lane, k}, worth, 0
					}
					if worth == least {
						if same++; x.r.IntN(same) == 0 {
							best = spot{patient, lane, k}
						}
					}
				}
			}
			if w == none {
				break
			}
			u, w = w, c.next[onLane][w]
		}
	}
	c.pick[v] = was.pick
	return best, least
}

// round reports whether two seats could close a circle: what comes after on one
// chain might have to come before on the other.
func (x *searcher) round(a, b seat) bool {
	return x.leads(a.w, b.u) || x.leads(b.w, a.u)
}

func (x *searcher) leads(w, u int) bool {
	return w != none && u != none && (w == u || x.head[u] >= x.head[w]+x.now.length(w))
}

// rowOf lists the visits of v's patient but v, in order.
func (x *searcher) rowOf(v int) {
	x.row = x.row[:0]
	a, b := x.s.of(x.s.visits[v].patient)
	for u := a; u < b; u++ {
		if u != v && x.now.before[onPatient][u] == none {
			for ; u != none; u = x.now.next[onPatient][u] {
				x.row = append(x.row, u)
			}
			return
		}
	}
}

// seats lists the seats for v on its patient's chain that the rules allow.
func (x *searcher) seats(v int) {
	x.places = x.places[:0]
	r := x.s.rules[x.s.visits[v].patient]
	for i := 0; i <= len(x.row); i++ {
		u, w := none, none
		if i > 0 {
			u = x.row[i-1]
		}
		if i < len(x.row) {
			w = x.row[i]
		}
		if w != none && x.s.begun[w] != none || r != nil && !x.allowed(r, v, i) {
			continue
		}
		x.places = append(x.places, x.seat(onPatient, u, v, w))
	}
}

// allowed reports whether the row may have v before its i-th visit.
func (x *searcher) allowed(r *rules, v, i int) bool {
	var order [mostVisits]int
	n := 0
	for j, u := range x.row {
		if j == i {
			order[n] = x.s.visits[v].nth
			n++
		}
		order[n] = x.s.visits[u].nth
		n++
	}
	if i == len(x.row) {
		order[n] = x.s.visits[v].nth
		n++
	}
	return r.allows(order[:n])
}

// seat measures a place for v between u and w.
func (x *searcher) seat(kind, u, v, w int) seat {
	c := x.now
	s := seat{u: u, w: w, head: x.s.since[x.s.visits[v].patient]}
	if u != none {
		s.head = max(s.head, x.head[u]+c.length(u)+c.gap(kind, u, v))
	}
	if w != none {
		s.tail = c.gap(kind, v, w) + c.length(w) + x.tail[w]
	}
	return s
}

// where is where v is.
func (c *chains) where(v int) spot {
	return spot{seat{u: c.before[onPatient][v], w: c.next[onPatient][v]}, seat{u: c.before[onLane][v], w: c.next[onLane][v]}, c.pick[v]}
}

// out takes v out of both its chains.
func (c *chains) out(v int) {
	for k := range c.before {
		u, w := c.before[k][v], c.next[k][v]
		if u != none {
			c.next[k][u] = w
		}
		if w != none {
			c.before[k][w] = u
		}
		c.before[k][v], c.next[k][v] = none, none
	}
}

// in puts v in a spot.
func (c *chains) in(v int, to spot) {
	c.pick[v] = to.pick
	for k, s := range [2]seat{onPatient: to.patient, onLane: to.lane} {
		c.before[k][v], c.next[k][v] = s.u, s.w
		if s.u != none {
			c.next[k][s.u] = v
		}
		if s.w != none {
			c.before[k][s.w] = v
		}
	}
}
