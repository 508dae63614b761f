package web

import (
	"fmt"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/desk"
	"evenbell/coach/desk/web/planform"
)

// planFormPage is the page on which a plan is written.
type planFormPage struct {
	Tag     string
	Person  *desk.Person
	Form    *form
	Checked *desk.Checked
	Errors  int
	Notes   []string // on what was changed to begin with
	General []string // warnings about no one item
	Items   []itemPart
	Owned   []string // loads, as a plan writes them
	Usual   map[string]string
	Calls   []choice
	Text    string // the plan as a file
}

// itemPart is one exercise of the plan.
type itemPart struct {
	At, Number  int
	First, Last bool
	Form        *form
	Name        string // of the exercise
	How         string // its stage and sides, in words
	Open        bool   // with all its fields shown
	Groups      []choiceGroup
	Sides       []choice
	Takes       string // the loads it takes, in words
	Range       string // how far the movement may go
	Warnings    []string
	Instead     []desk.Choice
	Liked       bool // other exercises were asked for
	Trial       trial
	Dumbbell    bool // takes one, so a trial set tells something
}

// choiceGroup is choices under a heading.
type choiceGroup struct {
	Name    string
	Choices []barredChoice
}

// barredChoice is a choice that a precaution may bar.
type barredChoice struct {
	choice
	Barred string // the precaution; empty for none
}

func (w *planWriting) page(c *desk.Checked) (*planFormPage, error) {
	f := &form{Values: w.form.Values}
	p := &planFormPage{Tag: w.who.Tag, Person: w.who, Form: f, Checked: c, Notes: w.notes, Text: w.text, Calls: callChoices()}
	warnings := map[int][]string{}
	for _, fault := range c.Faults {
		item, ofItem := w.where.Item(fault)
		switch {
		case fault.Warning && ofItem:
			warnings[item] = append(warnings[item], faultWords(fault))
		case fault.Warning:
			p.General = append(p.General, faultWords(fault))
		default:
			f.fault(w.where.Field(fault), "%s", w.words(fault, item, ofItem))
			p.Errors++
		}
	}
	if c.Plan != nil && c.Plan.LastDay() < w.v.today() {
		p.General = append(p.General, lastDayIsPast)
	}
	var err error
	if p.Usual, err = w.usual(); err != nil {
		return nil, err
	}
	for _, k := range []coach.LoadKind{coach.DumbbellLoad, coach.BandLoad} {
		for _, l := range w.owned().Loads(k) {
			p.Owned = append(p.Owned, l.String())
		}
	}
	p.Owned = append(p.Owned, coach.Body().String())
	for i := range w.form.Items() {
		part, err := w.item(i, f, warnings[i])
		if err != nil {
			return nil, err
		}
		p.Items = append(p.Items, part)
	}
	return p, nil
}

const lastDayIsPast = "The last day of this plan is past: no station will coach it."

// words is a fault for this page, which offers what to do about a precaution
// instead of saying what to write in a file.
func (w *planWriting) words(f coach.Fault, item int, ofItem bool) string {
	_, against, barred := strings.Cut(f.Message, " goes against ")
	cut := strings.LastIndex(against, "; ")
	if !ofItem || !barred || cut < 0 {
		return faultWords(f)
	}
	advice := "What may take its place is offered with it."
	if strings.HasSuffix(against, "leave it out") {
		advice = "Leave it out."
	}
	exercise, stage := planform.What(w.form.Get(planform.Name(item, "what")))
	return w.v.names().Full(exercise, stage) + " goes against " + against[:cut] + ". " + advice
}

// typedWords are a file's words as they are for who types into fields.
var typedWords = strings.NewReplacer("missing; write a text in quotes", "is missing; type it here", "; write a text in quotes", "", "mm[Hg]", "mmHg")

// faultWords is a fault as a sentence beside its field.
func faultWords(f coach.Fault) string {
	key := f.Key[strings.LastIndexByte(f.Key, '.')+1:]
	message := typedWords.Replace(f.Message)
	for kind, name := range precautionNames {
		message = strings.ReplaceAll(message, "the "+string(kind)+" precaution", "the precaution “"+name+"”")
	}
	switch key {
	case "exercise":
		if strings.HasPrefix(message, "is missing") {
			return "Choose the exercise."
		}
		return capital(message) + "."
	case "":
		return capital(message) + "."
	}
	return capital(strings.ReplaceAll(key, "_", " ")) + " " + message + "."
}

func callChoices() []choice {
	out := []choice{{Value: "", Label: "the tag"}}
	return append(out, callWordChoices()...)
}

func (w *planWriting) item(i int, f *form, warnings []string) (itemPart, error) {
	exercise, stage := planform.What(w.form.Get(planform.Name(i, "what")))
	e := w.v.names().find(exercise)
	p := itemPart{At: i, Number: i + 1, First: i == 0, Last: i == w.form.Items()-1, Form: f, Name: e.Name,
		Groups: w.exerciseChoices(exercise, stage), Warnings: warnings, Trial: w.trials[i]}
	if st, ok := catalogue.Stage(e, stage); ok {
		p.Takes, p.Range = kindWords(st.Loads), st.Range
		p.Dumbbell = slices.Contains(st.Loads, coach.DumbbellLoad)
		p.Sides = sideChoices(st)
		p.How = stageAndSides(e, st, coach.Sides(f.Get(planform.Name(i, "side"))))
	} else {
		p.Sides = sideChoices(coach.Stage{Sides: []coach.Sides{coach.BothSides, coach.Alternating, coach.EachSide, coach.LeftOnly, coach.RightOnly}})
	}
	p.Sides = keepChosen(p.Sides, f.Get(planform.Name(i, "side")), func(s string) string { return sidesWords(coach.Sides(s)) })
	prefix := planform.Name(i, "")
	if p.Trial.Form == nil {
		p.Trial.Form = &form{Values: w.form.Item(i)}
	}
	if err := w.instead(&p, i, exercise, stage); err != nil {
		return p, err
	}
	p.Open = exercise == "" || p.Liked || p.Trial.Asked || len(p.Warnings) > 0 || w.hiddenFault(prefix, f)
	return p, nil
}

// hiddenFault reports a fault in one of an item's fields that are not always
// shown.
func (w *planWriting) hiddenFault(prefix string, f *form) bool {
	return slices.ContainsFunc(f.Faults, func(x fieldFault) bool {
		key, ok := strings.CutPrefix(x.Name, prefix)
		return ok && key != "sets" && key != "reps" && key != "load"
	})
}

// instead offers other exercises: unasked where a precaution bars this one.
func (w *planWriting) instead(p *itemPart, i int, exercise, stage string) error {
	if list, asked := w.likes[i]; asked {
		p.Instead, p.Liked = list, true
		return nil
	}
	e := w.v.names().find(exercise)
	st, ok := catalogue.Stage(e, stage)
	sides := coach.Sides(w.form.Get(planform.Name(i, "side")))
	if ok && sides == "" {
		sides = st.Sides[0]
	}
	if _, barred := catalogue.BarredBy(st, sides, w.who.Precautions); !ok || !barred {
		return nil
	}
	all, err := w.v.desk().Choices(w.v.ctx(), w.v.who, w.who.Tag, exercise)
	if err != nil {
		return err
	}
	for _, c := range all {
		if c.Barred == nil {
			p.Instead = append(p.Instead, c)
		}
	}
	return nil
}

// regions are the exercises' groups on the page.
var regions = []struct {
	region coach.Region
	name   string
}{{coach.LowerBody, "Legs"}, {coach.UpperBody, "Arms and chest"}, {coach.Trunk, "Trunk"}}

// exerciseChoices are all exercises with their stages, those of the clinic's own
// as far as they are signed. What a precaution bars is there, says so, and can't
// be chosen.
func (w *planWriting) exerciseChoices(exercise, stage string) []choiceGroup {
	var out []choiceGroup
	chosen := exercise + "/" + stage
	found := exercise == ""
	for _, r := range regions {
		g := choiceGroup{Name: r.name}
		for _, e := range catalogue.All() {
			if e.Region != r.region {
				continue
			}
			for n, st := range e.Stages {
				c := choice{Value: e.ID + "/" + st.ID, Label: e.Name}
				if len(e.Stages) > 1 {
					c.Label += ", " + lower(st.Name)
				}
				c.Chosen = c.Value == chosen || stage == "" && n == 0 && e.ID == exercise
				found = found || c.Chosen
				g.Choices = append(g.Choices, barredChoice{c, w.barred(st)})
			}
		}
		out = append(out, g)
	}
	own := choiceGroup{Name: "The clinic’s own"}
	for _, e := range w.v.clinic.Exercises {
		c := choice{Value: e.ID + "/" + coach.OwnStage, Label: capital(e.Name), Chosen: e.ID == exercise}
		if slices.Contains(w.unsigned, e.ID) {
			if !c.Chosen {
				continue
			}
			c.Label += ", signed by nobody yet"
		}
		found = found || c.Chosen
		own.Choices = append(own.Choices, barredChoice{c, w.ownBarred(e)})
	}
	if len(own.Choices) > 0 {
		out = append(out, own)
	}
	if !found {
		out = append(out, choiceGroup{"Not known", []barredChoice{{choice{chosen, chosen, true}, ""}}})
	}
	return out
}

// ownBarred is what bars an exercise of the clinic's own: a precaution it
// names, and where it names none any precaution in force, since nobody but who
// typed it has looked at what rules it out.
func (w *planWriting) ownBarred(e coach.OwnExercise) string {
	by := w.barred(e.Stages[0])
	if by == "" && len(e.Stages[0].Bars) == 0 && len(w.who.Precautions) > 0 {
		return precautionName(w.who.Precautions[0].Kind)
	}
	return by
}

// barred is the precaution that bars a stage whichever way its sides share it;
// empty for none.
func (w *planWriting) barred(st coach.Stage) string {
	why := ""
	for _, s := range st.Sides {
		p, barred := catalogue.BarredBy(st, s, w.who.Precautions)
		if !barred {
			return ""
		}
		why = precautionName(p.Kind)
	}
	return why
}

func sideChoices(st coach.Stage) (out []choice) {
	for _, s := range st.Sides {
		out = append(out, choice{Value: string(s), Label: sidesWords(s)})
	}
	return out
}

// keepChosen sees to it that what is chosen is among the choices, even where it
// is none of them.
func keepChosen(in []choice, chosen string, words func(string) string) []choice {
	if chosen == "" || slices.ContainsFunc(in, func(c choice) bool { return c.Value == chosen }) {
		return in
	}
	return append(in, choice{Value: chosen, Label: words(chosen)})
}

// stageAndSides says how an exercise is done.
func stageAndSides(e coach.Exercise, st coach.Stage, sides coach.Sides) string {
	var out []string
	if len(e.Stages) > 1 {
		out = append(out, lower(st.Name))
	}
	if sides == "" {
		sides = st.Sides[0]
	}
	return strings.Join(append(out, sidesWords(sides)), ", ")
}

// choiceWords is an exercise in place of another, in words.
func choiceWords(c desk.Choice) string {
	return c.Exercise.Name + ", " + stageAndSides(c.Exercise, c.Stage, c.Sides)
}

func kindWords(kinds []coach.LoadKind) string {
	words := map[coach.LoadKind]string{coach.BodyLoad: "no weight (write “body”)", coach.DumbbellLoad: "a dumbbell", coach.BandLoad: "a band"}
	var out []string
	for _, k := range kinds {
		out = append(out, words[k])
	}
	return strings.Join(out, " or ")
}

// choiceValue is how an exercise in place of another is sent.
func choiceValue(c desk.Choice) string {
	return fmt.Sprintf("%s/%s/%s", c.Exercise.ID, c.Stage.ID, c.Sides)
}
