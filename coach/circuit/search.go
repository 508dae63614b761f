package circuit

import (
	"math"
	"math/rand/v2"
)

// searcher is a tabu search over chains.
type searcher struct {
	s     *shop
	r     *rand.Rand
	now   *chains
	best  *chains
	local *chains // the best since the last shaking
	base  *chains // where that began
	spare *chains
	bound int
	tries int
	stop  func() bool
	until [][]int // [u][v]: until which try u may not be put before v again
	moves []move
	found func(span int) // told of each better timetable
	compacter
}

// move exchanges u and its next on a chain, or puts u into another lane.
type move struct {
	kind, u, v int
	pick       int // where kind is toLane: the choice
	worth      int // the span it is likely to give
}

const toLane = 2

func newSearcher(s *shop, r *rand.Rand, from *chains, bound int, stop func() bool) *searcher {
	n := len(s.visits)
	x := &searcher{s: s, r: r, now: newChains(s), best: newChains(s), spare: newChains(s),
		local: newChains(s), base: newChains(s), bound: bound, stop: stop, found: func(int) {}}
	x.now.copyFrom(from)
	x.best.copyFrom(from)
	x.local.copyFrom(from)
	x.base.copyFrom(from)
	x.until = make([][]int, n)
	for i := range x.until {
		x.until[i] = make([]int, n)
	}
	return x
}

// patience is how many tries without a better timetable the search makes
// before it shakes what it has and goes on from there.
const patience = 300

// run looks at up to so many timetables, and ends sooner at the bound or when
// stop says so.
func (x *searcher) run(tries int) {
	since := 0
	for n := 0; n < tries && x.best.span > x.bound; n++ {
		if n%64 == 0 && x.stop() {
			return
		}
		x.tries++
		if !x.step() {
			since = patience
		}
		if x.keep() {
			since = 0
		}
		since++
		if since == patience/2 {
			x.compact(x.now)
			x.keep()
		}
		if since > patience {
			since = 0
			x.settle()
			x.shake()
			x.keep()
		}
	}
}

// keep keeps the timetable where it is the best since the last shaking, and
// reports whether it is.
func (x *searcher) keep() bool {
	if x.now.span >= x.local.span {
		return false
	}
	x.local.copyFrom(x.now)
	if x.now.span < x.best.span {
		x.best.copyFrom(x.now)
		x.found(x.best.span)
	}
	return true
}

// settle decides where the next shaking begins: at what was found since the
// last, where it is not much worse than what that began with; now and then at
// the best.
func (x *searcher) settle() {
	slack := x.best.span / 200
	if x.local.span <= x.base.span+x.r.IntN(slack+2) {
		x.base.copyFrom(x.local)
	}
	if x.r.IntN(3) == 0 {
		x.base.copyFrom(x.best)
	}
	x.local.span = math.MaxInt
}

// step makes the most promising move that is not tabu; false where there is
// none.
func (x *searcher) step() bool {
	x.path()
	for len(x.moves) > 0 {
		i := x.choose()
		m := x.moves[i]
		x.moves[i] = x.moves[len(x.moves)-1]
		x.moves = x.moves[:len(x.moves)-1]
		if x.try(m) {
			return true
		}
	}
	return false
}

// choose is the index of the best move; tabu moves only where they promise
// more than the best so far, or where there are no others.
func (x *searcher) choose() int {
	best, worth, same := 0, math.MaxInt, 0
	for i, m := range x.moves {
		w := m.worth
		if m.kind != toLane && x.until[m.v][m.u] > x.tries && w >= x.best.span {
			w += 1 << 30
		}
		if w > worth {
			continue
		}
		if w < worth {
			best, worth, same = i, w, 0
		}
		if same++; x.r.IntN(same) == 0 {
			best = i
		}
	}
	return best
}

// try makes a move, and takes it back where it breaks a rule or contradicts
// the other orders.
func (x *searcher) try(m move) bool {
	if m.kind == toLane {
		return x.relane(m)
	}
	x.now.swap(m.kind, m.u, m.v)
	if m.kind == onPatient && !x.now.allowed(m.u) || !x.now.time() {
		x.now.swap(m.kind, m.v, m.u)
		x.now.time()
		return false
	}
	x.now.timeBack()
	x.until[m.u][m.v] = x.tries + 8 + x.r.IntN(8+len(x.moves))
	return true
}

// path follows one longest path, chosen by chance, and collects the moves at
// the edges of its blocks: runs of visits that follow one another at once on
// one chain. Exchanges inside a block cannot shorten it.
func (x *searcher) path() {
	x.moves = x.moves[:0]
	c := x.now
	v := x.lastOnPath()
	block, edge := none, none // the kind of the block, and the visit after v on it
	for v != none && c.s.begun[v] == none {
		if len(c.s.visits[v].choices) > 1 {
			x.lanes(v)
		}
		kind, u := x.previous(v)
		if kind != block && edge != none {
			x.offer(block, v, edge) // the first two of the block that ends here
		}
		if u != none && kind != block {
			x.offer(kind, u, v) // the last two of the block that begins here
		}
		block, edge, v = kind, v, u
	}
}

// lastOnPath is a visit that ends with the class.
func (x *searcher) lastOnPath() int {
	at, same := none, 0
	for _, v := range x.now.order {
		if x.now.head[v]+x.now.length(v) == x.now.span {
			if same++; x.r.IntN(same) == 0 {
				at = v
			}
		}
	}
	return at
}

// previous is what v had to wait for, and on which kind of chain.
func (x *searcher) previous(v int) (kind, u int) {
	c := x.now
	var tight [2]bool
	for k := range tight {
		u := c.before[k][v]
		tight[k] = u != none && c.ready(k, u, v) == c.head[v]
	}
	switch {
	case tight[0] && tight[1]:
		kind = x.r.IntN(2)
	case tight[0]:
		kind = onPatient
	case tight[1]:
		kind = onLane
	default:
		return none, none
	}
	return kind, c.before[kind][v]
}

// offer adds the exchange of u and v with an estimate of what it gives: the
// longest path through either of them afterwards.
func (x *searcher) offer(kind, u, v int) {
	if x.s.begun[u] != none {
		return
	}
	for _, m := range x.moves {
		if m.kind == kind && m.u == u && m.v == v {
			return
		}
	}
	c, other := x.now, 1-kind
	b, n := c.before[kind][u], c.next[kind][v]
	headV := max(c.ready(other, c.before[other][v], v), c.ready(kind, b, v))
	headU := max(c.ready(other, c.before[other][u], u), headV+c.length(v)+c.gap(kind, v, u))
	tailU := max(x.after(other, u, c.next[other][u]), x.after(kind, u, n))
	tailV := max(x.after(other, v, c.next[other][v]), c.gap(kind, v, u)+c.length(u)+tailU)
	x.moves = append(x.moves, move{kind: kind, u: u, v: v,
		worth: max(headV+c.length(v)+tailV, headU+c.length(u)+tailU)})
}

// after is the longest way to the end from the end of u on through w.
func (x *searcher) after(kind, u, w int) int {
	if w == none {
		return 0
	}
	return x.now.gap(kind, u, w) + x.now.length(w) + x.now.tail[w]
}

// lanes offers one other lane for v.
func (x *searcher) lanes(v int) {
	k := x.r.IntN(len(x.s.visits[v].choices))
	if k != x.now.pick[v] {
		x.moves = append(x.moves, move{kind: toLane, u: v, pick: k, worth: x.now.span})
	}
}

// relane puts a visit into another lane, by its time.
func (x *searcher) relane(m move) bool {
	c := x.now
	x.spare.copyFrom(c)
	lane, at := x.s.visits[m.u].choices[m.pick].lane, c.head[m.u]
	u, w := none, none
	for _, v := range c.order {
		if v == m.u || c.choice(v).lane != lane {
			continue
		}
		past := c.s.begun[v] != none || c.head[v]+c.length(v)/2 <= at
		if past && (u == none || c.head[v] > c.head[u]) {
			u = v
		}
		if !past && (w == none || c.head[v] < c.head[w]) {
			w = v
		}
	}
	c.take(m.u)
	if x.s.visits[m.u].choices[c.pick[m.u]].lane == lane {
		u, w = x.spare.before[onLane][m.u], x.spare.next[onLane][m.u]
	}
	c.pick[m.u] = m.pick
	c.put(m.u, u, w)
	if !c.time() {
		c.copyFrom(x.spare)
		return false
	}
	c.timeBack()
	return true
}

// shake makes some exchanges by chance, and closes the gaps they leave.
func (x *searcher) shake() {
	x.now.copyFrom(x.base)
	for range 2 + x.r.IntN(5) {
		x.path()
		if len(x.moves) == 0 {
			return
		}
		x.try(x.moves[x.r.IntN(len(x.moves))])
	}
	x.compact(x.now)
}
