package plan

import (
	"fmt"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/protocol"
	"evenbell/coach/strict"
)

var allSides = []coach.Sides{coach.BothSides, coach.Alternating, coach.EachSide, coach.LeftOnly, coach.RightOnly}

// item reads one item. What is wrong with one key never hides what is wrong
// with another, as far as they can be judged apart.
func (r *reader) item(t *strict.Table, inForce []coach.Precaution) Item {
	v := Item{Dose: coach.Dose{Sets: 1}}
	if w, _ := strict.Choice(t, "words", strict.Optional, coach.WordsFull, coach.WordsBrief); w == coach.WordsBrief {
		v.Words = w
	}
	ex, known := r.exercise(t)
	v.Exercise = ex.ID
	if n, ok := count(t, "sets", strict.Optional, exactly(1), r.limit(protocol.SetsMost)); ok {
		v.Dose.Sets = n
	}
	v.Dose.Reps, _ = count(t, "reps", strict.Required, r.limit(protocol.RepsLeast), r.limit(protocol.RepsMost))
	load, loaded := r.load(t, "load", strict.Required)
	v.Dose.Load = load
	side, sided := strict.Choice(t, "side", strict.Optional, allSides...)
	name, named := t.Text("stage", strict.Optional)
	v.Pace = r.pace(t, r.plan.Pace)
	v.Last = r.last(t)
	if !known || t.Has("stage") && !named {
		return v
	}
	stage, ok := stageOf(t, ex, name, named)
	if !ok {
		return v
	}
	v.Dose.Stage, v.Sides = stage.ID, stage.Sides[0]
	if sided {
		v.Sides = side
		sided = sidesFit(t, stage, side)
	}
	if loaded && !catalogue.Takes(stage, load.Kind()) {
		t.Fault("load", "%s at %s is not done with %q; it takes %s", ex.ID, stage.ID, load, words(stage.Loads, " or "))
	}
	if sided || !t.Has("side") {
		r.against(t, v, stage, inForce)
	}
	if v.Sides == coach.Alternating && v.Dose.Reps%2 == 1 {
		t.Warn("reps", "is %d, an odd number for alternating sides: one side does one more than the other", v.Dose.Reps)
	}
	return v
}

func (r *reader) exercise(t *strict.Table) (coach.Exercise, bool) {
	id, ok := t.Text("exercise", strict.Required)
	if !ok {
		return coach.Exercise{}, false
	}
	ex, ok := r.plan.Exercise(id)
	switch {
	case ok && coach.IsOwn(id):
		s := ex.Stages[0]
		return ex, len(ex.Muscles) > 0 && len(s.Sides) > 0 && len(s.Loads) > 0 // else it has faults of its own
	case !ok && coach.IsOwn(id):
		t.Fault("exercise", "%q has no [[exercise]] in this plan; it has %s", id, r.ownIDs())
	case !ok:
		t.Fault("exercise", "%q is not in the catalogue; did you mean %q? station catalogue lists them all", id, catalogue.Nearest(id))
	}
	return ex, ok
}

func (r *reader) ownIDs() string {
	var ids []string
	for _, e := range r.plan.Own {
		ids = append(ids, e.ID)
	}
	if len(ids) == 0 {
		return "none"
	}
	return strings.Join(ids, ", ")
}

// stageOf finds the stage that is named, or else the first.
func stageOf(t *strict.Table, ex coach.Exercise, name string, named bool) (coach.Stage, bool) {
	if !named {
		return ex.Stages[0], true
	}
	var ids []string
	for _, s := range ex.Stages {
		if s.ID == name {
			return s, true
		}
		ids = append(ids, s.ID)
	}
	t.Fault("stage", "%q is no stage of %s; it has %s", name, ex.ID, strings.Join(ids, ", "))
	return coach.Stage{}, false
}

// sidesFit holds the side to what the stage can do.
func sidesFit(t *strict.Table, stage coach.Stage, side coach.Sides) bool {
	if sidesOf(stage, side) {
		return true
	}
	var can []coach.Sides
	for _, s := range allSides {
		if sidesOf(stage, s) {
			can = append(can, s)
		}
	}
	t.Fault("side", "%q is not how this stage is done; it is done %s", side, words(can, " or "))
	return false
}

// sidesOf reports whether a stage can be shared that way. One side alone goes
// wherever a stage is done a side at a time.
func sidesOf(stage coach.Stage, side coach.Sides) bool {
	if side == coach.LeftOnly || side == coach.RightOnly {
		return slices.Contains(stage.Sides, side) || slices.Contains(stage.Sides, coach.EachSide) ||
			slices.Contains(stage.Sides, coach.Alternating)
	}
	return slices.Contains(stage.Sides, side)
}

// load reads a load and holds it to the protocol's ceilings.
func (r *reader) load(t *strict.Table, key string, need strict.Need) (coach.Load, bool) {
	text, ok := t.Text(key, need)
	if !ok {
		return coach.Load{}, false
	}
	load, err := coach.ParseLoad(text)
	switch {
	case err != nil:
		t.Fault(key, "%v", err)
	case load.Grams() > 1000*r.protocol.Number(protocol.DumbbellMost):
		t.Fault(key, "is %s; one dumbbell is at most %s", load, r.protocol.Allowed(protocol.DumbbellMost))
	case load.Band() > r.protocol.Int(protocol.BandMost):
		t.Fault(key, "is %s; at most %s", load, r.protocol.Allowed(protocol.BandMost))
	default:
		return load, true
	}
	return coach.Load{}, false
}

// last reads what was done last time.
func (r *reader) last(t *strict.Table) coach.Done {
	load, loaded := r.load(t, "last_load", strict.Optional)
	reps, counted := count(t, "last_reps", strict.Optional, exactly(1), r.limit(protocol.RepsMost))
	switch hasLoad, hasReps := t.Has("last_load"), t.Has("last_reps"); {
	case hasLoad && !hasReps:
		t.Fault("last_load", "is given without last_reps; both or neither")
	case hasReps && !hasLoad:
		t.Fault("last_reps", "is given without last_load; both or neither")
	}
	if !loaded || !counted {
		return coach.Done{}
	}
	return coach.Done{Load: load, Reps: reps}
}

// against reports every precaution in force that an item goes against, with
// what to choose instead.
func (r *reader) against(t *strict.Table, v Item, stage coach.Stage, inForce []coach.Precaution) {
	for _, p := range inForce {
		if catalogue.Barred(stage, p.Kind, p.Side, v.Sides) {
			t.Fault("exercise", "%s at %s, %s, goes against the %s precaution%s; %s", v.Exercise, stage.ID, v.Sides, p.Kind, r.terms(p), instead(v, inForce))
		} else if p.Kind == coach.Sternum && v.Dose.Load.Kind() == coach.DumbbellLoad {
			t.Warn("load", "a weight is held in the hand while the sternum precaution is in force%s; supervised only, or write \"body\"", r.terms(p))
		}
	}
}

// terms says of a precaution what decides whether it is in force.
func (r *reader) terms(p coach.Precaution) string {
	var out string
	if p.Side != coach.Both && p.Side != coach.NoSide {
		out = fmt.Sprintf(" (%s)", p.Side)
	}
	last := r.protocol.LastDay(p)
	switch {
	case last == "":
		return out + ", which has no last day"
	case p.Until == "":
		return fmt.Sprintf("%s, in force until %s: %s after %s", out, last, r.protocol.Allowed(protocol.Healing(p.Kind)), p.Since)
	}
	return fmt.Sprintf("%s, in force until %s", out, last)
}

// instead says what to choose under the precautions.
func instead(v Item, inForce []coach.Precaution) string {
	c, ok := catalogue.Alternative(v.Exercise, inForce)
	switch {
	case !ok:
		return "leave it out"
	case c.Exercise == v.Exercise:
		return fmt.Sprintf("choose stage = %q, side = %q", c.Stage, c.Sides)
	}
	return fmt.Sprintf("choose exercise = %q, stage = %q, side = %q instead", c.Exercise, c.Stage, c.Sides)
}

// words joins values in a message.
func words[T ~string](list []T, between string) string {
	var out []string
	for _, v := range list {
		out = append(out, string(v))
	}
	return strings.Join(out, between)
}
