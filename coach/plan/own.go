package plan

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/strict"
)

// The most letters of what is typed about an exercise of a clinic's own: it is
// spoken. mostOwn is the most of them in one file.
const (
	longestName  = 40
	longestSetUp = 200
	longestCare  = 120
	longestOwnID = 40
	mostOwn      = 200
)

var ownID = regexp.MustCompile(`^own(-[a-z0-9]+)+$`)

// ReadOwn reads and checks a clinic's own exercises, which came from the file
// of that name: format "exercises/1" and [[exercise]] tables as a plan has
// them. It gives every fault at once; where any is more than a warning, there
// are no exercises.
func ReadOwn(file string, text []byte) ([]coach.OwnExercise, []coach.Fault) {
	f := strict.Parse(file, text)
	var own []coach.OwnExercise
	if f.Format("exercises", 1) {
		own = readOwn(f.Root())
	}
	faults := f.Faults()
	if len(coach.Errors(faults)) > 0 {
		return nil, faults
	}
	return own, faults
}

// WriteOwn writes a clinic's own exercises as a file that ReadOwn gives back
// the same.
func WriteOwn(own []coach.OwnExercise) []byte {
	var w writer
	w.text("format", "exercises/1")
	w.own(own)
	return bytes.Clone(w.b.Bytes())
}

// readOwn reads the [[exercise]] tables.
func readOwn(t *strict.Table) []coach.OwnExercise {
	tables, _ := t.Tables("exercise", strict.Optional)
	if len(tables) > mostOwn {
		tables[mostOwn].Fault("", "is number %d; at most %d exercises of a clinic's own", mostOwn+1, mostOwn)
		return nil
	}
	var own []coach.OwnExercise
	lines := map[string]int{}
	for _, sub := range tables {
		e := ownExercise(sub)
		if line, twice := lines[e.ID]; twice && e.ID != "" {
			sub.Fault("id", "%q is the id of another exercise already, on line %d", e.ID, line)
		}
		lines[e.ID] = sub.LineOf("id")
		own = append(own, e)
	}
	return own
}

func ownExercise(t *strict.Table) coach.OwnExercise {
	var e coach.OwnExercise
	e.ID = readOwnID(t)
	e.Name = said(t, "name", longestName)
	e.SetUp, e.Care = said(t, "set_up", longestSetUp), said(t, "care", longestCare)
	e.Region, _ = strict.Choice(t, "region", strict.Required, coach.Regions...)
	e.Muscles = someOf(t, "muscles", coach.Muscles)
	stage := coach.Stage{ID: coach.OwnStage, Name: "As the clinic teaches it"}
	stage.Position, _ = strict.Choice(t, "position", strict.Required, coach.Positions...)
	stage.First, _ = strict.Choice(t, "first", strict.Required, coach.Lift, coach.Lower)
	stage.Sides = someOf(t, "sides", allSides)
	stage.Loads = someOf(t, "loads", []coach.LoadKind{coach.BodyLoad, coach.DumbbellLoad, coach.BandLoad})
	stage.Dumbbells = dumbbells(t, stage.Loads)
	stage.Bars = readBars(t)
	barsFit(t, e.Region, stage)
	e.Stages = []coach.Stage{stage}
	e.Instead = map[coach.PrecautionKind]string{}
	for _, b := range stage.Bars {
		e.Instead[b.Kind] = ""
	}
	e.VerbsOf, e.VerbsStage = verbs(t)
	return e
}

func readOwnID(t *strict.Table) string {
	id, ok := t.Text("id", strict.Required)
	if ok && (!ownID.MatchString(id) || len(id) > longestOwnID) {
		t.Fault("id", "%q is no id of an exercise of your own; %q and small letters, digits and hyphens, at most %d, such as \"own-towel-pull\"", id, coach.OwnPrefix, longestOwnID)
		return ""
	}
	return id
}

// said reads a text that is spoken: there must be something in it to say.
func said(t *strict.Table, key string, longest int) string {
	s := line(t, key, strict.Required, longest)
	if s != "" && !speakable.MatchString(s) {
		t.Fault(key, "%q has nothing in it that can be said; words", s)
	}
	return s
}

var speakable = regexp.MustCompile(`[\p{L}\p{N}]`)

// someOf reads one or more of a list, each once.
func someOf[T ~string](t *strict.Table, key string, allowed []T) []T {
	texts, ok := t.Texts(key, strict.Required)
	if ok && len(texts) == 0 {
		t.Fault(key, "is empty; one or more of %s", words(allowed, ", "))
	}
	var out []T
	for _, s := range texts {
		switch {
		case !slices.Contains(allowed, T(s)):
			t.Fault(key, "%q is not allowed; one or more of %s", s, words(allowed, ", "))
		case slices.Contains(out, T(s)):
			t.Fault(key, "%q is given twice; once each", s)
		default:
			out = append(out, T(s))
		}
	}
	return out
}

// dumbbells reads how many are in use when both sides work.
func dumbbells(t *strict.Table, loads []coach.LoadKind) int {
	n, given := t.Int("dumbbells", strict.Optional)
	switch takes := slices.Contains(loads, coach.DumbbellLoad); {
	case given && (n < 1 || n > 2):
		t.Fault("dumbbells", "is %d; 1 or 2 in use when both sides work", n)
	case given && !takes:
		t.Fault("dumbbells", "is given, but loads has no \"dumbbell\"; leave it out")
	case takes && !t.Has("dumbbells"):
		t.Fault("dumbbells", "missing; 1 or 2 in use when both sides work, since loads has \"dumbbell\"")
	default:
		return n
	}
	return 0
}

// readBars reads which precautions rule the exercise out. The list may be
// empty, but must be given: somebody has thought about it.
func readBars(t *strict.Table) []coach.Bar {
	var out []coach.Bar
	add := func(key string, need strict.Need, oneSided bool) {
		kinds, _ := t.Texts(key, need)
		for _, k := range kinds {
			kind := coach.PrecautionKind(k)
			switch {
			case !slices.Contains(coach.PrecautionKinds, kind):
				t.Fault(key, "%q is not allowed; any of %s", k, words(coach.PrecautionKinds, ", "))
			case slices.ContainsFunc(out, func(b coach.Bar) bool { return b.Kind == kind }):
				t.Fault(key, "%q is given twice; once, in bars or in bars_one_side", k)
			default:
				out = append(out, coach.Bar{Kind: kind, OneSided: oneSided})
			}
		}
	}
	add("bars", strict.Required, false)
	add("bars_one_side", strict.Optional, true)
	return out
}

// barsFit holds what bars the exercise to what it is.
func barsFit(t *strict.Table, region coach.Region, s coach.Stage) {
	has := func(k coach.PrecautionKind) bool {
		return slices.ContainsFunc(s.Bars, func(b coach.Bar) bool { return b.Kind == k })
	}
	if s.Position.OnMat() && !has(coach.NoFloor) {
		t.Fault("bars", "%q is on the mat, so bars needs %q", s.Position, coach.NoFloor)
	}
	loaded := slices.ContainsFunc(s.Loads, func(k coach.LoadKind) bool { return k != coach.BodyLoad })
	if region == coach.UpperBody && loaded && !has(coach.Sternum) {
		t.Warn("bars", "an upper-body exercise against a load, and %q is not among them; a healing breastbone usually rules it out", coach.Sternum)
	}
}

// verbs reads with whose words the movement is led.
func verbs(t *strict.Table) (exercise, stage string) {
	id, ok := t.Text("verbs_of", strict.Required)
	name, named := t.Text("verbs_stage", strict.Optional)
	if !ok {
		return "", ""
	}
	ex, ok := catalogue.Find(id)
	if !ok {
		t.Fault("verbs_of", "%q is not in the catalogue; did you mean %q? The two verbs and the breathing cue of that exercise lead this one", id, catalogue.Nearest(id))
		return "", ""
	}
	s, ok := catalogue.Stage(ex, name)
	if named && (name == "" || !ok) {
		var ids []string
		for _, s := range ex.Stages {
			ids = append(ids, s.ID)
		}
		t.Fault("verbs_stage", "%q is no stage of %s; it has %s", name, ex.ID, strings.Join(ids, ", "))
		return "", ""
	}
	return ex.ID, s.ID
}

// Exercise finds an exercise of the plan's own, or of the catalogue.
func (p *Plan) Exercise(id string) (coach.Exercise, bool) {
	for _, e := range p.Own {
		if e.ID == id {
			return e.Exercise, true
		}
	}
	return catalogue.Find(id)
}

// ownOf are the plan's own exercises among some items, in the plan's order.
func (p *Plan) ownOf(items []Item) []coach.OwnExercise {
	var out []coach.OwnExercise
	for _, e := range p.Own {
		if slices.ContainsFunc(items, func(v Item) bool { return v.Exercise == e.ID }) {
			out = append(out, e)
		}
	}
	return out
}

func (w *writer) own(own []coach.OwnExercise) {
	for _, e := range own {
		s := e.Stages[0]
		w.head("[[exercise]]")
		w.text("id", e.ID)
		w.text("name", e.Name)
		w.text("set_up", e.SetUp)
		w.text("care", e.Care)
		w.text("region", string(e.Region))
		w.list("muscles", texts(e.Muscles))
		w.text("position", string(s.Position))
		w.text("first", string(s.First))
		w.list("sides", texts(s.Sides))
		w.list("loads", texts(s.Loads))
		if s.Dumbbells > 0 {
			w.bare("dumbbells", fmt.Sprint(s.Dumbbells))
		}
		var all, one []string
		for _, b := range s.Bars {
			if b.OneSided {
				one = append(one, string(b.Kind))
			} else {
				all = append(all, string(b.Kind))
			}
		}
		w.list("bars", all)
		if len(one) > 0 {
			w.list("bars_one_side", one)
		}
		w.text("verbs_of", e.VerbsOf)
		w.text("verbs_stage", e.VerbsStage)
	}
}

func (w *writer) list(key string, values []string) {
	var out []string
	for _, v := range values {
		out = append(out, strict.Quote(v))
	}
	w.bare(key, "["+strings.Join(out, ", ")+"]")
}

func texts[T ~string](list []T) (out []string) {
	for _, v := range list {
		out = append(out, string(v))
	}
	return out
}
