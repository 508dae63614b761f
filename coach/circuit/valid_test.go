package circuit_test

import (
	"fmt"
	"slices"

	"evenbell/coach/circuit"
)

// broken says what is wrong with a timetable, from the problem's words alone;
// empty where nothing is. It shares nothing with the search.
func broken(p *circuit.Problem, t *circuit.Timetable) (out []string) {
	say := func(f string, a ...any) { out = append(out, fmt.Sprintf(f, a...)) }
	type stay struct{ from, to int }
	at := make([][]stay, len(p.Places))
	span := 0
	for j, who := range p.Patients {
		if len(t.Slots[j]) != len(who.Visits) {
			say("%s has %d slots for %d visits", who.Tag, len(t.Slots[j]), len(who.Visits))
			return out
		}
		order := make([]int, len(who.Visits))
		for n := range order {
			order[n] = n
			s := t.Slots[j][n]
			i := slices.IndexFunc(who.Visits[n].Where, func(o circuit.Option) bool {
				return o.Place == s.Place && s.Start-s.Arrive == o.Lead && s.End-s.Start == o.Item
			})
			if i < 0 {
				say("%s: %s is nowhere it can be, or not as long as it takes", who.Tag, who.Visits[n].Name)
			}
			at[s.Place] = append(at[s.Place], stay{s.Arrive, s.End})
			span = max(span, s.End)
		}
		slices.SortFunc(order, func(a, b int) int { return t.Slots[j][a].Arrive - t.Slots[j][b].Arrive })
		mats := 0
		for k, n := range order {
			s, v := t.Slots[j][n], who.Visits[n]
			if k == 0 {
				if s.Arrive < who.Arrives {
					say("%s begins before they arrive", who.Tag)
				}
				if v.Mat {
					mats++
				}
				continue
			}
			o, u := t.Slots[j][order[k-1]], who.Visits[order[k-1]]
			if s.Arrive < o.End+p.Walk[o.Place][s.Place] {
				say("%s is at two places at once, or flies", who.Tag)
			}
			if u.Kind == circuit.Work && v.Kind == circuit.Work && s.Start < o.End+who.Rest {
				say("%s rests %d s, not %d", who.Tag, s.Start-o.End, who.Rest)
			}
			if v.Kind == circuit.WarmUp && u.Kind != circuit.WarmUp || u.Kind == circuit.CoolDown && v.Kind != circuit.CoolDown {
				say("%s warms up late or cools down early", who.Tag)
			}
			if v.Mat && !u.Mat {
				mats++
			}
			if who.MatLast && !who.Fixed && u.Mat && !v.Mat && v.Kind == circuit.Work {
				say("%s stands up again after the mat", who.Tag)
			}
			if who.Fixed && order[k-1] > n && u.Kind == v.Kind {
				say("%s: the fixed order is broken", who.Tag)
			}
		}
		if mats > 1 {
			say("%s gets down to the floor %d times", who.Tag, mats)
		}
	}
	for i, stays := range at {
		for _, s := range stays {
			together := 0
			for _, o := range stays {
				if o.from <= s.from && s.from < o.to {
					together++
				}
			}
			if together > p.Places[i].Capacity {
				say("%d at once at %s", together, p.Places[i].Name)
			}
		}
	}
	if span != t.Span || t.Bound > t.Span || t.Waiting < 0 {
		say("span %d written %d, bound %d, waiting %d", span, t.Span, t.Bound, t.Waiting)
	}
	return out
}

// exhaustive is the shortest span there is, by trying every order in which
// visits can begin, each in every place that can host it.
func exhaustive(p *circuit.Problem) int {
	best := 1 << 60
	free := make([][]int, len(p.Places)) // of each place, when each of its spots is free
	for i := range free {
		free[i] = make([]int, p.Places[i].Capacity)
	}
	slots := make([][]circuit.Slot, len(p.Patients))
	last := make([]int, len(p.Patients))
	done := make([][]bool, len(p.Patients))
	left := 0
	for j, who := range p.Patients {
		slots[j], done[j], last[j] = make([]circuit.Slot, len(who.Visits)), make([]bool, len(who.Visits)), -1
		left += len(who.Visits)
	}
	var try func(left, since, span int)
	try = func(left, since, span int) {
		if span >= best {
			return
		}
		if left == 0 {
			t := &circuit.Timetable{Slots: slots, Span: span, Bound: 0}
			if len(broken(p, t)) == 0 {
				best = span
			}
			return
		}
		for j, who := range p.Patients {
			for n, v := range who.Visits {
				if done[j][n] {
					continue
				}
				for _, o := range v.Where {
					for spot, f := range free[o.Place] {
						at := max(f, who.Arrives)
						if l := last[j]; l >= 0 {
							s, u := slots[j][l], who.Visits[l]
							at = max(at, s.End+p.Walk[s.Place][o.Place])
							if u.Kind == circuit.Work && v.Kind == circuit.Work {
								at = max(at, s.End+who.Rest-o.Lead)
							}
						}
						if at < since {
							continue
						}
						was := last[j]
						slots[j][n] = circuit.Slot{Place: o.Place, Arrive: at, Start: at + o.Lead, End: at + o.Lead + o.Item}
						done[j][n], last[j], free[o.Place][spot] = true, n, at+o.Lead+o.Item
						try(left-1, at, max(span, at+o.Lead+o.Item))
						done[j][n], last[j], free[o.Place][spot] = false, was, f
					}
				}
			}
		}
	}
	try(left, 0, 0)
	return best
}
