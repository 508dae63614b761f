package web

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/strict"
)

// exercisesPage is the clinic's own exercises.
type exercisesPage struct {
	Own   []desk.Exercise
	Stray []store.Recording // of words that stand in none of them any more
}

func showExercises(v *visit) error {
	own, err := v.desk().Exercises(v.ctx(), v.who)
	if err != nil {
		return err
	}
	stray, err := v.desk().StrayRecordings(v.ctx(), v.who)
	if err != nil {
		return err
	}
	return v.page("clinic-exercises", "Exercises of our own", exercisesPage{own, stray})
}

// waitingExercises is how many exercises a supervisor has something to sign of;
// none are told to who may not look at them.
func (v *visit) waitingExercises() (n int, err error) {
	if !v.who.May(desk.WriteExercise) {
		return 0, nil
	}
	all, err := v.desk().Exercises(v.ctx(), v.who)
	for _, e := range all {
		if e.Waits() {
			n++
		}
	}
	return n, err
}

// exercisePage is the form of one of them.
type exercisePage struct {
	ID        string         // empty for a new one
	Kept      *desk.Exercise // as it was kept last; nil for a new one
	Form      *form
	Recording *form // what is wrong with a recording that was sent
	Can       map[string]bool
	Warnings  []string
	Regions   []choice
	Muscles   []choice
	Positions []choice
	Sides     []choice
	Loads     []choice
	Verbs     []choice
	Bars      []choice
	Sound     bool
}

func plainChoices[T ~string](list []T, words func(T) string) (out []choice) {
	for _, x := range list {
		out = append(out, choice{Value: string(x), Label: words(x)})
	}
	return out
}

func asIs[T ~string](x T) string { return string(x) }

var allSides = []coach.Sides{coach.BothSides, coach.Alternating, coach.EachSide, coach.LeftOnly, coach.RightOnly}

func (v *visit) exercisePage(id string, f *form) (exercisePage, error) {
	p := exercisePage{ID: id, Form: f, Sound: v.site.Sound != nil && id != "", Recording: newForm(), Can: v.can(desk.SignExercise),
		Regions: plainChoices(coach.Regions, func(r coach.Region) string {
			return map[coach.Region]string{coach.UpperBody: "arms and chest", coach.LowerBody: "legs", coach.Trunk: "trunk"}[r]
		}),
		Muscles:   append([]choice{{Value: "", Label: "none"}}, plainChoices(coach.Muscles, asIs)...),
		Positions: plainChoices(coach.Positions, asIs),
		Sides:     plainChoices(allSides, sidesWords),
		Loads:     []choice{{Value: "body", Label: "no weight"}, {Value: "dumbbell", Label: "a dumbbell"}, {Value: "band", Label: "a band"}},
		Bars:      plainChoices(coach.PrecautionKinds, precautionName)}
	for _, e := range catalogue.All() {
		for _, st := range e.Stages {
			p.Verbs = append(p.Verbs, choice{Value: e.ID + "/" + st.ID, Label: v.names().Full(e.ID, st.ID)})
		}
	}
	if id == "" {
		return p, nil
	}
	kept, err := v.ownExercise(id)
	p.Kept = kept
	return p, err
}

// ownExercise is one of the clinic's own by its id.
func (v *visit) ownExercise(id string) (*desk.Exercise, error) {
	all, err := v.desk().Exercises(v.ctx(), v.who)
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].ID == id {
			return &all[i], nil
		}
	}
	return nil, missing("exercise")
}

// newExercise is the id under which the form of a new one is found.
const newExercise = "new"

func showExercise(v *visit) error {
	id := v.r.PathValue("id")
	if id == newExercise {
		p, err := v.exercisePage("", newForm("id", "own-", "region", "upper", "position", "seated", "first", "lift", "sides", "both", "loads", "body"))
		if err != nil {
			return err
		}
		return v.page("clinic-exercise", "An exercise of our own", p)
	}
	p, err := v.keptExercise(id)
	if err != nil {
		return err
	}
	return v.page("clinic-exercise", capital(p.Kept.Name), p)
}

// keptExercise is the page of an exercise as it was kept last.
func (v *visit) keptExercise(id string) (exercisePage, error) {
	p, err := v.exercisePage(id, nil)
	if err == nil {
		p.Form = writeExercise(p.Kept.OwnExercise)
	}
	return p, err
}

func writeExercise(e coach.OwnExercise) *form {
	st := e.Stages[0]
	f := newForm("id", e.ID, "name", e.Name, "set_up", e.SetUp, "care", e.Care, "region", string(e.Region), "position", string(st.Position),
		"first", string(st.First), "verbs", e.VerbsOf+"/"+e.VerbsStage, "dumbbells", strconv.Itoa(st.Dumbbells))
	for i, m := range e.Muscles {
		f.Values.Set(fmt.Sprintf("muscle.%d", i), string(m))
	}
	for _, s := range st.Sides {
		f.Values.Add("sides", string(s))
	}
	for _, l := range st.Loads {
		f.Values.Add("loads", string(l))
	}
	for _, b := range st.Bars {
		key := "bars"
		if b.OneSided {
			key = "bars_one_side"
		}
		f.Values.Add(key, string(b.Kind))
	}
	return f
}

// mostMuscles is how many muscle groups the form takes, the one worked most
// first.
const mostMuscles = 3

// exerciseText is the form as a file of one exercise, for its reader to judge.
func exerciseText(f *form) []byte {
	var b bytes.Buffer
	text := func(key, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%s = %s\n", key, strict.Quote(value))
		}
	}
	list := func(key string, values []string) {
		for i, s := range values {
			values[i] = strict.Quote(s)
		}
		fmt.Fprintf(&b, "%s = [%s]\n", key, strings.Join(values, ", "))
	}
	b.WriteString("format = \"exercises/1\"\n[[exercise]]\n")
	for _, key := range []string{"id", "name", "set_up", "care", "region", "position", "first"} {
		text(key, f.Get(key))
	}
	var muscles []string
	for i := range mostMuscles {
		if m := f.Get(fmt.Sprintf("muscle.%d", i)); m != "" {
			muscles = append(muscles, m)
		}
	}
	list("muscles", muscles)
	list("sides", slices.Clone(f.Values["sides"]))
	list("loads", slices.Clone(f.Values["loads"]))
	list("bars", slices.Clone(f.Values["bars"]))
	if one := f.Values["bars_one_side"]; len(one) > 0 {
		list("bars_one_side", slices.Clone(one))
	}
	if n := f.Get("dumbbells"); f.Has("loads", "dumbbell") && n != "" && n != "0" {
		if _, err := strconv.Atoi(n); err != nil {
			n = strict.Quote(n)
		}
		fmt.Fprintf(&b, "dumbbells = %s\n", n)
	}
	of, stage, _ := strings.Cut(f.Get("verbs"), "/")
	text("verbs_of", of)
	text("verbs_stage", stage)
	return b.Bytes()
}

func changeExercise(v *visit) error {
	id := v.r.PathValue("id")
	f, err := v.sent()
	if err != nil {
		return err
	}
	if id == newExercise {
		id = ""
	} else {
		f.Values.Set("id", id)
	}
	own, faults := plan.ReadOwn("exercise", exerciseText(f))
	p, err := v.exercisePage(id, f)
	if err != nil {
		return err
	}
	for _, x := range faults {
		if x.Warning {
			p.Warnings = append(p.Warnings, faultWords(x))
			continue
		}
		f.fault(exerciseField(x.Key), "%s", exerciseFault(x))
	}
	decideBars(f)
	if f.ok() {
		err := v.desk().KeepExercise(v.ctx(), v.who, own[0], id == "")
		if err == nil {
			words := ""
			if len(p.Warnings) > 0 {
				words = " Worth a look: " + strings.Join(p.Warnings, " ")
			}
			return v.back("/clinic/exercises/"+own[0].ID, "%s is kept. It can be prescribed once a supervisor has signed it as it is now.%s", capital(own[0].Name), words)
		}
		if err := f.refused(err); err != nil {
			return err
		}
	}
	return v.again("clinic-exercise", "An exercise of our own", p)
}

// decideBars refuses an exercise about which nobody has decided what rules it
// out: a list left empty by oversight would offer it to everybody.
func decideBars(f *form) {
	some, none := len(f.Values["bars"])+len(f.Values["bars_one_side"]) > 0, f.Has("barred_by_none", "yes")
	switch {
	case !some && !none:
		f.fault("bars", "Decide what rules it out: tick the precautions, or say that none of them does.")
	case some && none:
		f.fault("bars", "Precautions are ticked, and below it says that none rules it out. Put one of the two right.")
	}
}

// exerciseFault is a fault in the words that stand above its field.
func exerciseFault(x coach.Fault) string {
	switch key := x.Key[strings.LastIndexByte(x.Key, '.')+1:]; key {
	case "set_up":
		x.Key = "how to get into position"
	case "care":
		x.Key = "the one caution"
	case "muscles":
		if strings.HasPrefix(x.Message, "is empty") {
			return "Choose the muscles worked most; at least the first."
		}
	}
	return faultWords(x)
}

// exerciseField is the field that a key of the file is typed in.
func exerciseField(key string) string {
	switch key = key[strings.LastIndexByte(key, '.')+1:]; key {
	case "muscles":
		return "muscle.0"
	case "verbs_of", "verbs_stage":
		return "verbs"
	}
	return key
}

func removeExercise(v *visit) error {
	id := v.r.PathValue("id")
	if err := v.desk().RemoveExercise(v.ctx(), v.who, id); err != nil {
		return err
	}
	return v.back("/clinic/exercises", "%s is taken out. Plans that were approved with it keep it.", id)
}

func signExercise(v *visit) error {
	id := v.r.PathValue("id")
	f, err := v.sent()
	if err != nil {
		return err
	}
	if f.Get("read") == "" {
		return v.backBad("/clinic/exercises/"+id+"#sign", "Say that you have read it and listened to what is recorded. Nothing was signed.")
	}
	if err := v.desk().SignExercise(v.ctx(), v.who, id, f.Get("seen")); err != nil {
		return err
	}
	return v.back("/clinic/exercises/"+id, "Signed by %s. It can be prescribed, and what is recorded goes to the stations.", v.who.Name)
}

// playExercise is the sound of an exercise of the clinic's own, as a station
// with a speech program and what is recorded says and paces it.
func playExercise(v *visit) error {
	id := v.r.PathValue("id")
	i := slices.IndexFunc(v.clinic.Exercises, func(e coach.OwnExercise) bool { return e.ID == id })
	if i < 0 || v.site.Sound == nil {
		return missing("sound")
	}
	e := v.clinic.Exercises[i]
	st := e.Stages[0]
	load := coach.Body()
	if !catalogue.Takes(st, coach.BodyLoad) {
		load = coach.Band(1)
		if catalogue.Takes(st, coach.DumbbellLoad) {
			load = coach.Dumbbell(1000, v.clinic.Unit)
		}
	}
	rules := protocol.Default()
	p := plan.Plan{Day: v.today(), Clinic: v.clinic.Name, Voice: v.clinic.Voice, Unit: v.clinic.Unit, Pace: plan.UsualPace(rules), Protocol: rules, Own: v.clinic.Exercises,
		Patients: []plan.Patient{{Tag: "A1", Guide: coach.GuideBoth, Part: coach.Whole, Items: []plan.Item{
			{Exercise: e.ID, Dose: coach.Dose{Load: load, Reps: rules.Int(protocol.RepsLeast), Sets: 1, Stage: st.ID}, Sides: st.Sides[0], Pace: plan.UsualPace(rules)}}}}}
	prog, err := p.Resolve("A1", p.Day)
	if err != nil {
		return fmt.Errorf("making a programme of %s: %w", id, err)
	}
	recorded, err := v.desk().Recorded(v.ctx(), v.who, p.Voice, prog.Own, false)
	if err != nil {
		return err
	}
	sound, kind, err := v.site.Sound.Item(v.ctx(), p.Voice, prog, recorded, 0)
	if err != nil {
		return fmt.Errorf("making the sound of %s: %w", id, err)
	}
	return v.sound(kind, sound)
}
