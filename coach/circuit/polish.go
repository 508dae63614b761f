package circuit

import "math/rand/v2"

// goal is what is wanted of a timetable, the first first: an early end, little
// waiting (which the sum of the patients' ends measures, since all else about
// a patient's day is given), each patient's own order.
type goal struct{ span, ends, moved int }

func (g goal) less(o goal) bool {
	switch {
	case g.span != o.span:
		return g.span < o.span
	case g.ends != o.ends:
		return g.ends < o.ends
	}
	return g.moved < o.moved
}

// goal is how far c has come.
func (c *chains) goal() goal {
	g := goal{span: c.span}
	for j := range c.s.rules {
		a, b := c.s.of(j)
		end := 0
		for u := a; u < b; u++ {
			end = max(end, c.head[u]+c.length(u))
			for v := u + 1; v < b; v++ {
				if c.head[v] < c.head[u] {
					g.moved++
				}
			}
		}
		g.ends += end
	}
	return g
}

// mostPolish is the most exchanges that are tried after the search.
const mostPolish = 20000

// polish makes every exchange of neighbours that brings c nearer to its goal,
// until there is none, and returns how many it tried.
func polish(c *chains, r *rand.Rand, stop func() bool) int {
	now, tries := c.goal(), 0
	for better := true; better; {
		better = false
		for _, at := range r.Perm(2 * len(c.head)) {
			kind, u := at%2, at/2
			v := c.next[kind][u]
			if v == none || c.s.begun[u] != none {
				continue
			}
			if tries++; tries > mostPolish || tries%64 == 0 && stop() {
				c.time()
				return tries
			}
			c.swap(kind, u, v)
			if kind == onPatient && !c.allowed(u) || !c.time() || !c.goal().less(now) {
				c.swap(kind, v, u)
				continue
			}
			now, better = c.goal(), true
		}
	}
	c.time()
	return tries
}
