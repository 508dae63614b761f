package circuit

import "slices"

// taken is a stretch of a patient's or a lane's time that is taken.
type taken struct{ from, to, visit int }

// compacter builds timetables without a gap that a later visit could fill: one
// visit after the other takes the earliest place that is free, between others
// where it fits. Patients with rules keep their order.
type compacter struct {
	on    [2][][]taken // of each patient and each lane, by time
	order []int
}

// compact rebuilds c, the visits in the order they begin now.
func (k *compacter) compact(c *chains) {
	s := c.s
	if k.on[0] == nil {
		k.on = [2][][]taken{make([][]taken, len(s.rules)), make([][]taken, len(s.place))}
	}
	for kind := range k.on {
		for i := range k.on[kind] {
			k.on[kind][i] = k.on[kind][i][:0]
		}
	}
	k.order = append(k.order[:0], c.order...)
	slices.SortStableFunc(k.order, func(a, b int) int {
		if went := s.went(a) - s.went(b); went != 0 {
			return went
		}
		return c.head[a] - c.head[b]
	})
	for _, v := range k.order {
		k.insert(c, v)
	}
	for kind := range k.on {
		for _, row := range k.on[kind] {
			last := none
			for _, x := range row {
				c.before[kind][x.visit] = last
				if last != none {
					c.next[kind][last] = x.visit
				}
				c.next[kind][x.visit] = none
				last = x.visit
			}
		}
	}
	c.time()
	c.timeBack()
}

// insert puts v where both its patient and its lane are free soonest.
func (k *compacter) insert(c *chains, v int) {
	who := c.s.visits[v].patient
	rows := [2]int{who, c.choice(v).lane}
	at, length := c.s.since[who], c.length(v)
	var where [2]int
	if began := c.s.begun[v]; began != none {
		for kind, row := range rows {
			k.on[kind][row] = append(k.on[kind][row], taken{began, began + length, v})
		}
		return
	}
	for again := true; again; {
		again = false
		for kind, row := range rows {
			t, i := k.fit(c, kind, k.on[kind][row], v, at, length)
			again = again || kind == onLane && t > at
			at, where[kind] = t, i
		}
	}
	for kind, row := range rows {
		k.on[kind][row] = slices.Insert(k.on[kind][row], where[kind], taken{at, at + length, v})
	}
}

// fit is the first time from at on when v fits into a row, and where in it.
func (k *compacter) fit(c *chains, kind int, row []taken, v, at, length int) (int, int) {
	if kind == onPatient && c.s.rules[c.s.visits[v].patient] != nil {
		if n := len(row); n > 0 {
			at = max(at, row[n-1].to+c.gap(kind, row[n-1].visit, v))
		}
		return at, len(row)
	}
	for i, x := range row {
		if at+length+c.gap(kind, v, x.visit) <= x.from {
			return at, i
		}
		at = max(at, x.to+c.gap(kind, x.visit, v))
	}
	return at, len(row)
}
