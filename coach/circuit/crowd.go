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

// places is the earliest end of what only the k busiest places can host: never
// more of them are at work than people have warmed up and not yet gone to cool
// down. work is that of each place, the most first.
func (c *crowd) places(work []int) int {
	best, sum := 0, 0
	for k, w := range work {
		sum += w
		low, high := best, best+sum+c.span()
		for low < high {
			t := (low + high) / 2
			if c.capacity(k+1, t) >= sum {
				high = t
			} else {
				low = t + 1
			}
		}
		best = low
	}
	return best
}

// span is later than any bound the ends alone can cause.
func (c *crowd) span() int {
	if len(c.from) == 0 {
		return 0
	}
	return c.from[len(c.from)-1] + c.until[len(c.until)-1]
}

// capacity is how many seconds of work k places can do at most in a class that
// ends at t.
func (c *crowd) capacity(k, t int) int {
	total, at, come, gone := 0, 0, 0, 0
	n := len(c.from)
	for come < n || gone < n {
		next := t
		if come < n {
			next = min(next, c.from[come])
		}
		if gone < n {
			next = min(next, t-c.until[n-1-gone])
		}
		next = max(next, at)
		total += (next - at) * min(k, come, n-gone)
		at = next
		switch {
		case come < n && c.from[come] <= at:
			come++
		case gone < n && t-c.until[n-1-gone] <= at:
			gone++
		default:
			return total
		}
		if at >= t {
			return total
		}
	}
	return total
}
