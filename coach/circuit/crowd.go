package circuit

import "slices"

// crowd is what bounds a class as a whole, beside what bounds one patient or
// one place: people come out of the warm-up area no faster than it holds them,
// and into the cool-down area likewise.
type crowd struct {
	s *shop
	// from is when the first, the second … patient can begin to work at the
	// soonest, whoever that is; until is how long before the end of the class the
	// last, the last but one … has to have worked at the latest.
	from, until []int
}

func newCrowd(s *shop) *crowd {
	c := &crowd{s: s}
	var come, warmed, tails []int
	walkIn, walkOut := -1, -1
	cools := 0
	for j := range s.rules {
		d, at := s.day(j), s.soonest(j)
		if d.work == 0 {
			continue
		}
		if d.warm > 0 {
			warmed = append(warmed, at)
		} else {
			come = append(come, at)
		}
		walkIn, walkOut = lesser(walkIn, d.toWork), lesser(walkOut, d.fromWork)
		tails = append(tails, d.fromWork+d.cool)
		if d.cool > 0 {
			cools++
		}
	}
	slices.Sort(tails)
	if length, lanes, ok := s.area(WarmUp); ok {
		warmed = through(warmed, length, lanes)
	}
	c.from = append(come, warmed...)
	slices.Sort(c.from)
	for i := range c.from {
		c.from[i] += max(0, walkIn)
	}
	c.until = tails
	if length, lanes, ok := s.area(CoolDown); ok && cools == len(tails) {
		for i, end := range through(make([]int, cools), length, lanes) {
			c.until[i] = max(c.until[i], end+max(0, walkOut))
		}
	}
	return c
}

// lesser is the lesser of two numbers, of which the first may not be there yet.
func lesser(a, b int) int {
	if a < 0 {
		return b
	}
	return min(a, b)
}

// area is the one place where all visits of a kind are made: the shortest of
// them, and how many at once; false where there are several, or no such visits.
func (s *shop) area(k Kind) (length, lanes int, ok bool) {
	place := none
	length = -1
	for v := range s.visits {
		if s.kind(v) != k || s.begun[v] != none {
			continue
		}
		at := s.visits[v].choices[0].option.Place
		if !s.onePlace(v) || place != none && place != at {
			return 0, 0, false
		}
		place, length = at, lesser(length, s.visits[v].shortest())
	}
	if place == none {
		return 0, 0, false
	}
	return length, s.p.Places[place].Capacity, true
}

// through is when those who come at some times have gone through an area, the
// first first: served as they come, which for visits of one length is soonest
// for each of them.
func through(come []int, length, lanes int) []int {
	slices.Sort(come)
	out := make([]int, len(come))
	for i, at := range come {
		if i >= lanes {
			at = max(at, out[i-lanes])
		}
		out[i] = at + length
	}
	return out
}

// coolDown is when the last has cooled down at the soonest.
func (c *crowd) coolDown() int {
	length, lanes, ok := c.s.area(CoolDown)
	if !ok {
		return 0
	}
	var heads []int
	work := -1
	for j := range c.s.rules {
		d := c.s.day(j)
		if d.cool == 0 {
			continue
		}
		if d.work == 0 {
			return 0 // who has begun to cool down, or has nothing else to do
		}
		heads = append(heads, c.s.soonest(j)+d.warm+d.toWork+d.work+d.fromWork)
		work = lesser(work, d.work+d.fromWork)
	}
	slices.Sort(heads)
	for i := range heads {
		heads[i] = max(heads[i], c.from[i]+work)
	}
	if out := through(heads, length, lanes); len(out) > 0 {
		return out[len(out)-1]
	}
	return 0
}

// places is the earliest end of what only the busiest places can host, as many
// of them as give the latest: as long as few have warmed up, and once most have
// gone to cool down, those who are there keep few places busy, and rest between
// two visits. work is that of each place, the most first; longest the longest
// visit, and rest the least gap between two.
//
// For any s and u, what k places do in a class that ends at T is at most what
// all people can do before s, and in the last u seconds, and k·(T−s−u) between:
// so T is at least s + u + (all work − the first − the last) / k. Where the first
// and the last are less than all work together, T can't be less than s + u.
func (c *crowd) places(work []int, longest, rest int) int {
	best, sum := 0, 0
	for k, w := range work {
		sum += w
		s, first := lull(c.from, k+1, longest, rest, sum/2)
		u, last := lull(c.until, k+1, longest, rest, sum/2)
		best = max(best, s+u+(sum-first-last+k)/(k+1))
	}
	return best
}

// lull is the moment by which k places have been idle longest, as far as people
// who begin at some times can work at all, and how much they can have worked;
// less than most.
func lull(begin []int, k, longest, rest, most int) (moment, worked int) {
	idle := 0
	for _, from := range begin {
		for at := from; ; at += longest + rest {
			can := 0
			for _, b := range begin {
				can += atMost(at-b, longest, rest)
			}
			if can >= most || longest+rest == 0 {
				break
			}
			if k*at-can > idle {
				idle, moment, worked = k*at-can, at, can
			}
		}
	}
	return moment, worked
}

// atMost is the most work in so many seconds from its beginning, in visits no
// longer than longest with a rest between.
func atMost(seconds, longest, rest int) int {
	if seconds <= 0 {
		return 0
	}
	return seconds/(longest+rest)*longest + min(longest, seconds%(longest+rest))
}
