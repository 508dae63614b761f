package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"

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
// readiness questions, those after it only what was felt since; the warm-up and
// the cool-down are done in their areas, with staff.
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
			pl.Patients = append(pl.Patients, stayOf(who, s, isFirst(g.slots(t, j), n)))
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

func isFirst(slots []circuit.Slot, n int) bool {
	for _, s := range slots {
		if s.Arrive < slots[n].Arrive {
			return false
		}
	}
	return true
}

// stayOf is a patient's part of the plan at one place.
func stayOf(who plan.Patient, s stay, first bool) plan.Patient {
	items := who.Items
	who.Part, who.WarmUp, who.CoolDown, who.WarmUpElsewhere, who.Items = coach.Middle, 0, 0, false, nil
	if first {
		who.Part, who.WarmUpElsewhere = coach.First, true
	}
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
