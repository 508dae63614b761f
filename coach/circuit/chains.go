package circuit

// none stands where a chain begins or ends.
const none = -1

// chains is a timetable as orders: of each patient's visits and of each
// lane's. The earliest times follow from it.
type chains struct {
	s            *shop
	pick         []int // of each visit, which of its choices
	before, next [2][]int
	head         []int // earliest arrival
	tail         []int // from the end of the visit to the end of the class, at least
	span         int
	order        []int // visits, each after all it must wait for
	waits        []int // scratch: how many must come first
}

// The two kinds of chain.
const (
	onPatient = 0
	onLane    = 1
)

func newChains(s *shop) *chains {
	n := len(s.visits)
	c := &chains{s: s, pick: make([]int, n), head: make([]int, n), tail: make([]int, n),
		order: make([]int, 0, n), waits: make([]int, n)}
	for k := range c.next {
		c.before[k], c.next[k] = make([]int, n), make([]int, n)
		for v := range n {
			c.before[k][v], c.next[k][v] = none, none
		}
	}
	return c
}

// copyFrom makes c the same as o, of the same shop.
func (c *chains) copyFrom(o *chains) {
	copy(c.pick, o.pick)
	for k := range c.next {
		copy(c.before[k], o.before[k])
		copy(c.next[k], o.next[k])
	}
	copy(c.head, o.head)
	copy(c.tail, o.tail)
	c.span = o.span
	c.order = append(c.order[:0], o.order...)
}

func (c *chains) choice(v int) *choice { return &c.s.visits[v].choices[c.pick[v]] }
func (c *chains) length(v int) int     { return c.choice(v).length }

// gap is the least time from the end of u to the arrival at v, its next on a
// chain of that kind.
func (c *chains) gap(kind, u, v int) int {
	if kind == onLane {
		return 0
	}
	return c.s.gap(u, c.choice(u), v, c.choice(v))
}

// ready is when v can begin as far as what is before it on a chain goes.
func (c *chains) ready(kind, u, v int) int {
	if u == none {
		return c.s.since[c.s.visits[v].patient]
	}
	return max(c.head[u]+c.length(u)+c.gap(kind, u, v), c.s.since[c.s.visits[v].patient])
}

// time works out all heads, and false where the orders contradict each other.
func (c *chains) time() bool {
	c.order = c.order[:0]
	for v := range c.waits {
		c.waits[v] = 0
		for k := range c.before {
			if c.before[k][v] != none {
				c.waits[v]++
			}
		}
		if c.waits[v] == 0 {
			c.order = append(c.order, v)
		}
	}
	c.span = 0
	for i := 0; i < len(c.order); i++ {
		v := c.order[i]
		if c.head[v] = c.s.begun[v]; c.head[v] == none {
			c.head[v] = max(c.ready(onPatient, c.before[onPatient][v], v), c.ready(onLane, c.before[onLane][v], v))
		}
		c.span = max(c.span, c.head[v]+c.length(v))
		for k := range c.next {
			if w := c.next[k][v]; w != none {
				if c.waits[w]--; c.waits[w] == 0 {
					c.order = append(c.order, w)
				}
			}
		}
	}
	return len(c.order) == len(c.head)
}

// timeBack works out all tails, after time.
func (c *chains) timeBack() {
	for i := len(c.order) - 1; i >= 0; i-- {
		v := c.order[i]
		c.tail[v] = 0
		for k := range c.next {
			if w := c.next[k][v]; w != none {
				c.tail[v] = max(c.tail[v], c.gap(k, v, w)+c.length(w)+c.tail[w])
			}
		}
	}
}

// swap exchanges u and v, v being next to u on a chain of that kind.
func (c *chains) swap(kind, u, v int) {
	b, n := c.before[kind], c.next[kind]
	x, y := b[u], n[v]
	b[v], n[v] = x, u
	b[u], n[u] = v, y
	if x != none {
		n[x] = v
	}
	if y != none {
		b[y] = u
	}
}

// allowed reports whether the order of the visits of v's patient is allowed.
func (c *chains) allowed(v int) bool {
	r := c.s.rules[c.s.visits[v].patient]
	if r == nil {
		return true
	}
	for c.before[onPatient][v] != none {
		v = c.before[onPatient][v]
	}
	var visits [mostVisits]int
	n := 0
	for ; v != none; v = c.next[onPatient][v] {
		visits[n] = c.s.visits[v].nth
		n++
	}
	return r.allows(visits[:n])
}
