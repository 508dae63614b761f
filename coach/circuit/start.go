package circuit

import "math/rand/v2"

// partial is a timetable being built forward in time.
type partial struct {
	s      *shop
	head   []int // of each visit made; none otherwise
	pick   []int
	made   []uint32 // of each patient, for the rules
	last   []int    // of each patient, the last visit made; none
	lane   []int    // of each lane, the last visit in it; none
	left   []int    // of each patient, work left in seconds
	load   []int    // of each lane's place, work left in seconds, for single choices
	placed []int    // visits in the order they were made
}

func newPartial(s *shop) *partial {
	p := &partial{s: s, head: fill(len(s.visits), none), pick: make([]int, len(s.visits)),
		made: make([]uint32, len(s.rules)), last: fill(len(s.rules), none), lane: fill(len(s.place), none),
		left: make([]int, len(s.rules)), load: make([]int, len(s.place))}
	for _, v := range s.visits {
		p.left[v.patient] += v.shortest()
		p.load[v.choices[0].lane] += v.shortest()
	}
	for _, v := range s.inOrderBegun() {
		p.make(v, 0, s.begun[v])
	}
	return p
}

func fill(n, with int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = with
	}
	return out
}

// may reports whether v can be its patient's next visit.
func (p *partial) may(v int) bool {
	at := &p.s.visits[v]
	if p.head[v] != none {
		return false
	}
	r := p.s.rules[at.patient]
	if r == nil {
		return true
	}
	last := none
	if l := p.last[at.patient]; l != none {
		last = p.s.visits[l].nth
	}
	return r.may(p.made[at.patient], last, at.nth)
}

// earliest is when v could begin in one of its choices, after all that is made.
func (p *partial) earliest(v, pick int) int {
	c := &p.s.visits[v].choices[pick]
	who := p.s.visits[v].patient
	at := p.s.since[who]
	if u := p.last[who]; u != none {
		from := &p.s.visits[u].choices[p.pick[u]]
		at = max(at, p.head[u]+from.length+p.s.gap(u, from, v, c))
	}
	if u := p.lane[c.lane]; u != none {
		at = max(at, p.head[u]+p.s.visits[u].choices[p.pick[u]].length)
	}
	return at
}

// undo is what make changed beside the visit's own entries.
type undo struct{ v, last, lane int }

// make puts v where it begins earliest in a choice.
func (p *partial) make(v, pick, at int) undo {
	op := &p.s.visits[v]
	c := &op.choices[pick]
	back := undo{v, p.last[op.patient], p.lane[c.lane]}
	p.head[v], p.pick[v] = at, pick
	p.made[op.patient] |= 1 << (op.nth & 31)
	p.last[op.patient], p.lane[c.lane] = v, v
	p.left[op.patient] -= op.shortest()
	p.load[op.choices[0].lane] -= op.shortest()
	p.placed = append(p.placed, v)
	return back
}

func (p *partial) unmake(b undo) {
	op := &p.s.visits[b.v]
	p.head[b.v] = none
	p.made[op.patient] &^= 1 << (op.nth & 31)
	p.last[op.patient], p.lane[op.choices[p.pick[b.v]].lane] = b.last, b.lane
	p.left[op.patient] += op.shortest()
	p.load[op.choices[0].lane] += op.shortest()
	p.placed = p.placed[:len(p.placed)-1]
}

// start builds a timetable without idleness: of the visits that can begin
// soonest, the one whose patient and place have most left to do. From the
// second try on, chance leans on what is left.
func start(s *shop, r *rand.Rand, noise int) *chains {
	p := newPartial(s)
	for len(p.placed) < len(s.visits) {
		best, pick, at, worth := none, 0, 0, 0
		for v := range s.visits {
			if !p.may(v) {
				continue
			}
			for k, c := range s.visits[v].choices {
				t := p.earliest(v, k)
				w := max(p.left[s.visits[v].patient], p.load[c.lane]) + (p.left[s.visits[v].patient]+p.load[c.lane])/8
				if noise > 0 {
					w += r.IntN(noise + w*noise/200 + 1)
				}
				if best == none || t < at || t == at && w > worth {
					best, pick, at, worth = v, k, t, w
				}
			}
		}
		p.make(best, pick, at)
	}
	return p.chains()
}

// chains gives the orders of a complete timetable.
func (p *partial) chains() *chains {
	c := newChains(p.s)
	copy(c.pick, p.pick)
	last := [2][]int{fill(len(p.s.rules), none), fill(len(p.s.place), none)}
	for _, v := range p.placed {
		on := [2]int{p.s.visits[v].patient, p.s.visits[v].choices[p.pick[v]].lane}
		for k := range on {
			if u := last[k][on[k]]; u != none {
				c.before[k][v], c.next[k][u] = u, v
			}
			last[k][on[k]] = v
		}
	}
	c.time()
	c.timeBack()
	return c
}
