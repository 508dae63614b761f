package web

import (
	"net/url"
	"slices"
	"strconv"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/web/chart"
)

// progressPage is how a patient is getting on, drawn.
type progressPage struct {
	Tag       string
	Form      *form
	Periods   []choice
	Choices   []choice // exercises
	From, To  coach.Day
	Weeks     chart.Chart
	Pace      chart.Chart
	Exercises []chart.Progress
	Nothing   bool
}

// periods are how far back the drawings can go, in weeks.
var periods = []choice{{Value: "4", Label: "4 weeks"}, {Value: "12", Label: "12 weeks"}, {Value: "26", Label: "half a year"}, {Value: "104", Label: "two years"}}

const usualPeriod = 12

func showProgress(v *visit) error {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return err
	}
	q := v.r.URL.Query()
	weeks, err := strconv.Atoi(q.Get("weeks"))
	if err != nil || weeks < 1 || weeks > 520 {
		weeks = usualPeriod
	}
	f := &form{Values: url.Values{"weeks": {strconv.Itoa(weeks)}, "exercise": q["exercise"]}}
	p := progressPage{Tag: who.Tag, Form: f, Periods: periods, To: v.today(), From: v.today().AddDays(1 - 7*weeks), Choices: []choice{{Value: "", Label: "all of them"}}}
	got, err := v.desk().Review(v.ctx(), v.who, who.Tag, p.From, p.To)
	if err != nil {
		return err
	}
	if err := v.draw(&p, who, got); err != nil {
		return err
	}
	return v.page("patient-progress", "Progress: "+personTitle(who), p)
}

func (v *visit) draw(p *progressPage, who *desk.Person, got *desk.Reviewed) error {
	rules, err := v.desk().Protocol(v.ctx())
	if err != nil {
		return err
	}
	p.Nothing = len(got.Visits) == 0
	p.Weeks, p.Pace = chart.Weeks(sinceBegun(got.Weeks, who)), chart.Pace(got.Log, rules, p.From)
	names := v.names()
	for _, id := range doneIn(got) {
		p.Choices = append(p.Choices, choice{Value: id, Label: names.Exercise(id)})
		if chosen := p.Form.Get("exercise"); chosen == "" || chosen == id {
			p.Exercises = append(p.Exercises, chart.Of(got.Log, rules, id, names.Exercise(id), p.From, v.clinic.Unit))
		}
	}
	return nil
}

// doneIn are the exercises done, those of the newest visit first, in its order.
func doneIn(got *desk.Reviewed) []string {
	var out []string
	seen := map[string]bool{}
	for _, v := range slices.Backward(got.Visits) {
		for _, it := range v.Items() {
			if !seen[it.Exercise] {
				seen[it.Exercise] = true
				out = append(out, it.Exercise)
			}
		}
	}
	return out
}
