package circuit

import (
	"slices"
)

// prover searches a small class to the end: it builds timetables forward in
// time and leaves out what cannot end before the best known.
//
// Where every order and one choice is all there is, it branches as Giffler and
// Thompson do for the job shop (Operations Research 8, 1960): of the visits
// that could end soonest, one; next comes it or one that would be in its way.
// Otherwise it goes through all visits in order of their beginning.
type prover struct {
	*partial
	free  bool
	limit int // on the nodes
	nodes int
	best  int // a timetable with this span is known
	bound int
	found *chains
	stop  func() bool
	gave  bool // up
	rooms [][]branch
}

// branch is one way to go on.
type branch struct{ v, pick, at int }

// mostProved is the most visits of a class that is searched to the end.
const mostProved = 40

// prove looks for a timetable shorter than best; whole is whether it searched
// to the end.
func prove(s *shop, best, bound, limit int, stop func() bool) (found *chains, whole bool, nodes int) {
	p := &prover{partial: newPartial(s), free: true, limit: limit, best: best, bound: bound, stop: stop,
		rooms: make([][]branch, len(s.visits)+1)}
	for _, r := range s.rules {
		p.free = p.free && r == nil
	}
	for _, v := range s.visits {
		p.free = p.free && len(v.choices) == 1
	}
	p.search(len(p.placed), 0)
	return p.found, !p.gave, p.nodes
}

// search goes on from a partial timetable; since is when its last visit began.
func (p *prover) search(depth, since int) {
	if p.nodes++; p.nodes > p.limit || p.nodes%1024 == 0 && p.stop() {
		p.gave = true
	}
	if p.gave || p.best <= p.bound {
		return
	}
	if depth == len(p.s.visits) {
		if c := p.chains(); c.span < p.best {
			p.best, p.found = c.span, c
		}
		return
	}
	if p.least() >= p.best {
		return
	}
	branches := p.branches(p.rooms[depth][:0], since)
	p.rooms[depth] = branches
	slices.SortStableFunc(branches, func(a, b branch) int {
		if a.at != b.at {
			return a.at - b.at
		}
		return p.left[p.s.visits[b.v].patient] - p.left[p.s.visits[a.v].patient]
	})
	for _, b := range branches {
		back := p.make(b.v, b.pick, b.at)
		p.search(depth+1, b.at)
		p.unmake(back)
	}
}

// branches are the ways to go on.
func (p *prover) branches(out []branch, since int) []branch {
	soonest, it := 1<<60, none
	for v := range p.s.visits {
		if !p.may(v) {
			continue
		}
		for k, c := range p.s.visits[v].choices {
			at := p.earliest(v, k)
			if p.free || at >= since {
				out = append(out, branch{v, k, at})
			}
			if at+c.length < soonest {
				soonest, it = at+c.length, v
			}
		}
	}
	if !p.free {
		return out
	}
	return slices.DeleteFunc(out, func(b branch) bool { return !p.inTheWay(b, it, soonest) })
}

// inTheWay reports whether a visit could keep the one that ends soonest from
// beginning where it could.
func (p *prover) inTheWay(b branch, it, soonest int) bool {
	x, y := &p.s.visits[b.v], &p.s.visits[it]
	if b.v == it {
		return true
	}
	return x.choices[0].lane == y.choices[0].lane && b.at < soonest ||
		x.patient == y.patient && b.at < soonest+p.s.gap(it, &y.choices[0], b.v, &x.choices[0])
}

// least is a time before which no timetable from here can end.
func (p *prover) least() int {
	best := 0
	for j := range p.s.rules {
		a, b := p.s.of(j)
		at, work := 1<<60, -p.s.narrow[j]
		for v := a; v < b; v++ {
			if p.head[v] == none {
				work += p.s.visits[v].shortest() + p.s.narrow[j]
				for k := range p.s.visits[v].choices {
					at = min(at, p.earliest(v, k))
				}
			}
		}
		if at < 1<<60 {
			best = max(best, at+work)
		} else if l := p.last[j]; l != none {
			best = max(best, p.head[l]+p.s.visits[l].choices[p.pick[l]].length)
		}
	}
	if !p.free {
		return best
	}
	return max(best, p.leastOnLanes())
}

// leastOnLanes is the same seen from the lanes: what is left begins as early
// as each can, one after the other.
func (p *prover) leastOnLanes() int {
	best := 0
	type piece struct{ at, length int }
	var room [64]piece
	for lane := range p.lane {
		pieces := room[:0]
		for v := range p.s.visits {
			if c := &p.s.visits[v].choices[0]; c.lane == lane && p.head[v] == none {
				pieces = append(pieces, piece{p.earliest(v, 0), c.length})
			}
		}
		slices.SortFunc(pieces, func(a, b piece) int { return a.at - b.at })
		at := 0
		for _, x := range pieces {
			at = max(at, x.at) + x.length
		}
		best = max(best, at)
	}
	return best
}
