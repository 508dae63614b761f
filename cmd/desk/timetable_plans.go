package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"time"

	"github.com/google/renameio/v2"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/plan"
)

// writePlans writes one day plan per station into a folder: NN-place.toml.
func (g *gymClass) writePlans(t *circuit.Timetable, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return failed(fmt.Errorf("making the folder for the plans: %w", err))
	}
	for i := range g.Places {
		pl := g.planFor(t, i)
		if len(pl.Patients) == 0 {
			continue
		}
		text := plan.Write(pl)
		file := filepath.Join(dir, fmt.Sprintf("%02d-%s.toml", i+1, slug(g.Places[i].Name)))
		if _, faults := plan.Read(file, text, pl.Protocol); len(coach.Errors(faults)) > 0 {
			return invalid(coach.Errors(faults))
		}
		if err := renameio.WriteFile(file, text, 0o644); err != nil {
			return failed(fmt.Errorf("writing a plan: %w", err))
		}
	}
	return nil
}

var notInSlug = regexp.MustCompile(`[^a-z0-9]+`)

func slug(name string) string {
	return strings.Trim(notInSlug.ReplaceAllString(strings.ToLower(name), "-"), "-")
}

// planFor is the day plan of one place: everybody who comes, in order of their
// arrival, with the doses of the parent. The first place of a patient asks the
// readiness questions, those after it only what was felt since, and the last
// the closing question; each says where to go next and when. The warm-up and the
// cool-down are done in their areas, with staff.
func (g *gymClass) planFor(t *circuit.Timetable, at int) *plan.Plan {
	pl := *g.Plan
	pl.Patients = nil
	var arrives []int
	for j, who := range g.Plan.Patients {
		for n, s := range g.stays[j] {
			if s.place != at {
				continue
			}
			slot := g.slots(t, j)[n]
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
func (g *gymClass) slots(t *circuit.Timetable, j int) []circuit.Slot {
	var out []circuit.Slot
	for n, v := range g.problem.Patients[j].Visits {
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
func (g *gymClass) after(slots []circuit.Slot, from circuit.Slot) (string, coach.TimeOfDay) {
	next := -1
	for n, s := range slots {
		if s.Arrive > from.Arrive && (next < 0 || s.Arrive < slots[next].Arrive) {
			next = n
		}
	}
	if next < 0 {
		return "", ""
	}
	at, _ := time.Parse("15:04", g.Begins) // the reader let nothing else through
	return g.spoken(slots[next].Place), coach.TimeOfDayAt(at.Add(time.Duration(slots[next].Arrive) * time.Second).Round(time.Minute))
}

// spoken is how a place, or an area behind the places, is called aloud.
func (g *gymClass) spoken(place int) string {
	switch n := place - len(g.Places); n {
	case 0:
		return g.WarmUp.Spoken
	case 1:
		return g.CoolDown.Spoken
	}
	return g.Places[place].Spoken
}

// stayOf is a patient's part of the plan at one place.
func stayOf(who plan.Patient, s stay, as coach.Part) plan.Patient {
	items := who.Items
	who.Part, who.WarmUp, who.CoolDown, who.Items = as, 0, 0, nil
	who.WarmUpElsewhere, who.CoolDownElsewhere = as.HasWarmUp(), as.HasCoolDown()
	for _, n := range s.items {
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
