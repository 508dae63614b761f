package web

import (
	"strconv"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
	"evenbell/coach/screening"
)

// screeningPage is today's screening: the form and, once it was sent, what
// came of it.
type screeningPage struct {
	Tag    string
	Person *desk.Person
	Form   *form
	Sugar  bool // glucose matters
	Weight bool // a gain in weight matters
	Spray  bool
	Last   *store.Screening // today's, if there is one
	Before []store.Screening
}

func (v *visit) screeningPage(f *form) (screeningPage, error) {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return screeningPage{}, err
	}
	all, err := v.desk().Screenings(v.ctx(), v.who, who.Tag)
	if err != nil {
		return screeningPage{}, err
	}
	p := screeningPage{Tag: who.Tag, Person: who, Form: f, Last: who.Screening}
	for _, s := range all {
		if who.Screening == nil || s.ID != who.Screening.ID {
			p.Before = append(p.Before, s)
		}
	}
	p.Before = p.Before[:min(len(p.Before), 10)]
	known := who.Record.Screening
	p.Weight, p.Spray = known.HeartFailure, known.SprayOrdered
	for _, c := range known.Conditions {
		p.Sugar = p.Sugar || c == protocol.Diabetes
	}
	if f == nil {
		p.Form = newForm()
		if p.Last != nil {
			p.Form = writeToday(p.Last.Today)
		}
	}
	return p, nil
}

func showScreening(v *visit) error {
	p, err := v.screeningPage(nil)
	if err != nil {
		return err
	}
	return v.page("patient-screening", "Screening today: "+personTitle(p.Person), p)
}

// screen compares with the protocol what was asked and measured. What was left empty counts as not
// asked, and the desk says so.
func screen(v *visit) error {
	tag := v.r.PathValue("tag")
	f, err := v.sent()
	if err != nil {
		return err
	}
	t := readToday(f)
	t.Day = v.today()
	if f.ok() {
		got, err := v.desk().Screen(v.ctx(), v.who, tag, t)
		if err == nil {
			return v.screened("/patients/"+tag+"/screening#outcome", got.Result)
		}
		if err := f.refused(err); err != nil {
			return err
		}
	}
	p, err := v.screeningPage(f)
	if err != nil {
		return err
	}
	return v.again("patient-screening", "Screening today: "+personTitle(p.Person), p)
}

// screened says what came of a screening and what to do next. Only “may start”
// is good news.
func (v *visit) screened(at string, r screening.Result) error {
	switch r.Verdict {
	case protocol.MayStart:
		return v.back(at, "Kept. By the protocol they may start.")
	case protocol.Ask:
		if n := len(r.Missing()); n > 0 {
			return v.backBad(at, "Kept. Ask the supervisor before they start; %s not asked or measured.", plural(n, "thing was", "things were"))
		}
		return v.backBad(at, "Kept. Ask the supervisor before they start: only a supervisor loads their plan today.")
	}
	return v.backBad(at, "Kept. Not today: they do not exercise. Tell the supervisor and see that they are looked after; no plan of theirs is loaded today.")
}

// pressures are the blood pressures of the form, with their names.
var pressures = []struct {
	name, what string
	of         func(*screening.Today) **screening.Pressure
}{
	{"rest", "Blood pressure, sitting at rest", func(t *screening.Today) **screening.Pressure { return &t.Rest }},
	{"lying", "Blood pressure, lying", func(t *screening.Today) **screening.Pressure { return &t.Lying }},
	{"sitting", "Blood pressure, sitting, before standing up", func(t *screening.Today) **screening.Pressure { return &t.Sitting }},
	{"upright", "Blood pressure, standing", func(t *screening.Today) **screening.Pressure { return &t.Upright }},
}

func readToday(f *form) screening.Today {
	t := screening.Today{Well: f.yesNo("well"), NewSymptoms: f.yesNo("symptoms"), TabletsTaken: f.yesNo("tablets"),
		SprayAtHand: f.yesNo("spray"), Admitted: f.yesNo("admitted"),
		HeartRate: f.number("pulse", "Heart rate"), Glucose: f.number("glucose", "Glucose"), WeightGain: f.number("weight", "Gain in weight")}
	for _, p := range pressures {
		*p.of(&t) = f.pressure(p.name, p.what)
	}
	return t
}

// pressure reads two fields that only count together.
func (f *form) pressure(name, what string) *screening.Pressure {
	up, down := f.number(name+".systolic", what+", upper"), f.number(name+".diastolic", what+", lower")
	switch {
	case up != nil && down != nil:
		return &screening.Pressure{Systolic: *up, Diastolic: *down}
	case up != nil && f.Get(name+".diastolic") == "":
		f.fault(name+".diastolic", "%s: the lower value is missing; both or neither.", what)
	case down != nil && f.Get(name+".systolic") == "":
		f.fault(name+".systolic", "%s: the upper value is missing; both or neither.", what)
	}
	return nil
}

func writeToday(t screening.Today) *form {
	f := newForm()
	for name, b := range map[string]*bool{"well": t.Well, "symptoms": t.NewSymptoms, "tablets": t.TabletsTaken, "spray": t.SprayAtHand, "admitted": t.Admitted} {
		if b != nil {
			f.Values.Set(name, map[bool]string{true: "yes", false: "no"}[*b])
		}
	}
	number := func(name string, n *float64) {
		if n != nil {
			f.Values.Set(name, strconv.FormatFloat(*n, 'f', -1, 64))
		}
	}
	number("pulse", t.HeartRate)
	number("glucose", t.Glucose)
	number("weight", t.WeightGain)
	for _, p := range pressures {
		if got := *p.of(&t); got != nil {
			number(p.name+".systolic", &got.Systolic)
			number(p.name+".diastolic", &got.Diastolic)
		}
	}
	return f
}
