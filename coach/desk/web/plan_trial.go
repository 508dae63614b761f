package web

import (
	"strconv"

	"evenbell/coach"
	"evenbell/coach/desk/web/planform"
	"evenbell/coach/dose"
)

// trial is the load calculator of one item: what a trial set shows, and what
// to begin with.
type trial struct {
	Form   *form
	Asked  bool
	Once   string // what could be lifted once
	Start  *dose.Start
	Faults []string
}

// try works out a load to begin with from a trial set.
func (w *planWriting) try(i int) trial {
	f := &form{Values: w.form.Item(i)}
	t := trial{Form: f, Asked: true}
	load := f.loadIn("trial-load")
	reps := f.whole("trial-reps", "Repetitions done", 1, dose.MostReps)
	left := f.whole("trial-left", "Repetitions left", 0, 20)
	if f.ok() && (load.Kind() != coach.DumbbellLoad || reps == nil || left == nil) {
		f.fault("trial-load", "Give the dumbbell, how many repetitions were done and how many were left.")
	}
	if !f.ok() {
		for _, x := range f.Faults {
			t.Faults = append(t.Faults, x.Words)
		}
		return t
	}
	exercise, _ := planform.What(f.Get("what"))
	rules, err := w.v.desk().Protocol(w.v.ctx())
	if err == nil {
		var most dose.Range
		if most, err = dose.Capacity(rules, float64(load.Milli())/1000, *reps, *left); err == nil {
			t.Once = rounded(most.Low) + " to " + rounded(most.High) + " " + string(load.Unit())
			var start dose.Start
			if start, err = w.v.desk().Start(w.v.ctx(), w.v.who, exercise, load, *reps, *left); err == nil {
				t.Start = &start
			}
		}
	}
	if err != nil {
		t.Faults = append(t.Faults, capital(err.Error()))
	}
	return t
}

// rounded is a mass to one decimal: no more is known of what could be lifted.
func rounded(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }
