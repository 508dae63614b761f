package class

import (
	"sort"
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/plan"
)

// PlanFor is the day plan of one place: everybody who comes, in order of their
// arrival, with the doses of the parent. The first place of a patient asks the
// readiness questions, those after it only what was felt since, and the last
// the closing question; each says where to go next and when. The warm-up and the
// cool-down are done in their areas, with staff.
func (g *Gym) PlanFor(t *circuit.Timetable, at int) *plan.Plan {
	pl := *g.Plan
	pl.Patients = nil
	var arrives []int
	for j, who := range g.Plan.Patients {
		for n, s := range g.Stays[j] {
			if s.Place != at {
				continue
			}
			slot := g.slots(t, j)[n]
			if slot.Place == circuit.Nowhere {
				continue // not made after all
			}
			arrives = append(arrives, slot.Arrive)
			there := stayOf(who, s, partOf(g.slots(t, j), n))
			there.NextPlace, there.NextAt = g.after(t.Slots[j], slot)
			pl.Patients = append(pl.Patients, there)
		}
	}
	sort.Stable(byArrival{pl.Patients, arrives})
	if a := g.Plan.Approval; a != nil {
		pl.Approval = &plan.Approval{By: a.By, At: a.At, SHA256: pl.Fingerprint(), Parent: g.Plan.Fingerprint()}
	}
	return &pl
}

// slots are the slots of a patient's work, beside the stays.
func (g *Gym) slots(t *circuit.Timetable, j int) []circuit.Slot {
	var out []circuit.Slot
	for n, v := range g.Problem.Patients[j].Visits {
		if v.Kind == circuit.Work {
			out = append(out, t.Slots[j][n])
		}
	}
	return out
}

// partOf is which part of the patient's day a stay is.
func partOf(slots []circuit.Slot, n int) coach.Part {
	first, last := true, true
	for _, s := range slots {
		if s.Place == circuit.Nowhere {
			continue
		}
		first = first && s.Arrive >= slots[n].Arrive
		last = last && s.Arrive <= slots[n].Arrive
	}
	switch {
	case first && last:
		return coach.Whole
	case first:
		return coach.First
	case last:
		return coach.Last
	}
	return coach.Middle
}

// after is where a patient goes from a visit, as it is spoken, and when; empty
// after the last.
func (g *Gym) after(slots []circuit.Slot, from circuit.Slot) (string, coach.TimeOfDay) {
	next := -1
	for n, s := range slots {
		if s.Place != circuit.Nowhere && s.Arrive > from.Arrive && (next < 0 || s.Arrive < slots[next].Arrive) {
			next = n
		}
	}
	if next < 0 {
		return "", ""
	}
	return g.spoken(slots[next].Place), coach.TimeOfDayAt(g.clock(slots[next].Arrive).Round(time.Minute))
}

// Onward is where a patient goes from a place, as it is spoken, and when; false
// where they are not there in the timetable.
func (g *Gym) Onward(t *circuit.Timetable, patient, place int) (string, coach.TimeOfDay, bool) {
	for _, s := range t.Slots[patient] {
		if s.Place == place {
			where, at := g.after(t.Slots[patient], s)
			return where, at, true
		}
	}
	return "", "", false
}

// spoken is how a place, or an area behind the places, is called aloud.
func (g *Gym) spoken(place int) string {
	switch n := place - len(g.Places); n {
	case 0:
		return g.WarmUp.Spoken
	case 1:
		return g.CoolDown.Spoken
	}
	return g.Places[place].Spoken
}

// stayOf is a patient's part of the plan at one place.
func stayOf(who plan.Patient, s Stay, as coach.Part) plan.Patient {
	items := who.Items
	who.Part, who.WarmUp, who.CoolDown, who.Items, who.Home = as, 0, 0, nil, nil
	who.WarmUpElsewhere, who.CoolDownElsewhere = as.HasWarmUp(), as.HasCoolDown()
	who.Intro = who.Intro && as.HasWarmUp() // once a day is enough
	for _, n := range s.Items {
		who.Items = append(who.Items, items[n])
	}
	return who
}

type byArrival struct {
	patients []plan.Patient
	arrives  []int
}

func (b byArrival) Len() int           { return len(b.arrives) }
func (b byArrival) Less(i, k int) bool { return b.arrives[i] < b.arrives[k] }
func (b byArrival) Swap(i, k int) {
	b.arrives[i], b.arrives[k] = b.arrives[k], b.arrives[i]
	b.patients[i], b.patients[k] = b.patients[k], b.patients[i]
}
