package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/desk"
	"evenbell/coach/desk/web/planform"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
)

// planWriting is one plan being written: its form, and what the desk says of
// it.
type planWriting struct {
	v        *visit
	who      *desk.Person
	form     planform.Form
	where    planform.Where
	home     *coach.Home // as a plan says it; nil for who exercises at the clinic
	text     string
	notes    []string
	likes    map[int][]desk.Choice // asked for, by item
	trials   map[int]trial
	unsigned []string // exercises of the clinic's own that can't be prescribed
}

func (v *visit) planWriting() (*planWriting, error) {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return nil, err
	}
	rules, err := v.desk().Protocol(v.ctx())
	if err != nil {
		return nil, err
	}
	unsigned, err := v.desk().Unsigned(v.ctx(), v.who)
	return &planWriting{v: v, who: who, home: desk.HomeOf(who.Record, rules), form: planform.New(), likes: map[int][]desk.Choice{}, trials: map[int]trial{}, unsigned: unsigned}, err
}

func showPlanForm(v *visit) error {
	w, err := v.planWriting()
	if err != nil {
		return err
	}
	if err := w.begin(v.r.URL.Query().Get("from")); err != nil {
		return err
	}
	return w.show(http.StatusOK)
}

// begin fills the form from what it is to begin from: a programme, the last
// plan, a version by its number, or nothing.
func (w *planWriting) begin(from string) error {
	v, tag := w.v, w.who.Tag
	text := ""
	if id, ok := strings.CutPrefix(from, "version-"); ok {
		n, err := strconv.ParseInt(id, 10, 64)
		if err != nil {
			return missing("plan")
		}
		rx, _, err := v.desk().Prescription(v.ctx(), v.who, n)
		if err != nil {
			return err
		}
		if rx.Patient != w.who.ID {
			return missing("plan of this patient")
		}
		text = rx.Text
	} else if from != "" && from != "nothing" {
		s, err := w.suggestion(from, tag)
		if err != nil {
			return err
		}
		text, w.notes = s.Text, s.Notes
	}
	if text == "" {
		return w.empty()
	}
	f, err := planform.FromText(text)
	if err != nil {
		return &problem{http.StatusConflict, "That plan can't be opened here", capital(err.Error()) + ". Begin from a programme or from the last plan instead."}
	}
	w.form = f
	return nil
}

func (w *planWriting) suggestion(from, tag string) (*desk.Suggestion, error) {
	if from == "last" {
		return w.v.desk().FromLast(w.v.ctx(), w.v.who, tag)
	}
	return w.v.desk().FromProgramme(w.v.ctx(), w.v.who, tag, from)
}

// empty is a plan for today with one exercise to choose.
func (w *planWriting) empty() error {
	rules, err := w.v.desk().Protocol(w.v.ctx())
	if err != nil {
		return err
	}
	w.form.Set("day", string(w.v.today()))
	w.form.Set("until", string(desk.HomeUntil(w.who.Record, w.v.today())))
	w.form.Set("warm_up", strconv.Itoa(rules.Int("warm-up-least")))
	w.form.Set("cool_down", strconv.Itoa(rules.Int("cool-down-least")))
	w.form.Set("guide", string(w.who.Record.Guide))
	w.form.Set("call", w.who.Record.Call)
	w.form.Add(0, url.Values{"sets": {"1"}, "reps": {"10"}, "load": {"body"}})
	return nil
}

// writePlan does what the button pressed says. Only keeping the plan changes
// anything on the desk; all else gives the form back as it then is.
func writePlan(v *visit) error {
	w, err := v.planWriting()
	if err != nil {
		return err
	}
	sent, err := v.sent()
	if err != nil {
		return err
	}
	do := sent.Get("do")
	sent.Values.Del("do")
	w.form = planform.FromValues(sent.Values)
	if do == "keep" {
		return w.keep()
	}
	if err := w.act(do); err != nil {
		return err
	}
	return w.show(http.StatusOK)
}

// act does what a button of an item says: WHAT-ITEM, or WHAT-ITEM:WITH.
func (w *planWriting) act(do string) error {
	do, with, _ := strings.Cut(do, ":")
	what, number, _ := strings.Cut(do, "-")
	i, err := strconv.Atoi(number)
	if err != nil {
		i = w.form.Items()
	}
	switch what {
	case "add":
		w.form.Add(i, url.Values{"sets": {"1"}, "reps": {"10"}, "load": {"body"}})
	case "take":
		w.form.Take(i)
	case "up":
		w.form.Move(i, i-1)
	case "down":
		w.form.Move(i, i+1)
	case "swap":
		w.swap(i, with)
	case "load":
		w.form.Set(planform.Name(i, "load"), with)
	case "like":
		exercise, _ := planform.What(w.form.Get(planform.Name(i, "what")))
		choices, err := w.v.desk().Choices(w.v.ctx(), w.v.who, w.who.Tag, exercise)
		if err != nil && !errors.Is(err, desk.ErrNotFound) {
			return err
		}
		w.likes[i] = choices
	case "trial":
		w.trials[i] = w.try(i)
	}
	return nil
}

// swap puts another exercise in an item's place: EXERCISE/STAGE/SIDES. What was
// done last time was another exercise's.
func (w *planWriting) swap(i int, with string) {
	part := strings.Split(with, "/")
	if i < 0 || i >= w.form.Items() || len(part) != 3 {
		return
	}
	was, _ := planform.What(w.form.Get(planform.Name(i, "what")))
	w.form.Set(planform.Name(i, "what"), part[0]+"/"+part[1])
	w.form.Set(planform.Name(i, "side"), part[2])
	if was == part[0] {
		return
	}
	for _, key := range []string{"last_load", "last_reps", "words"} {
		w.form.Set(planform.Name(i, key), "")
	}
	e := w.v.names().find(part[0])
	st, ok := catalogue.Stage(e, part[1])
	l, err := coach.ParseLoad(w.form.Get(planform.Name(i, "load")))
	if ok && (err != nil || !catalogue.Takes(st, l.Kind())) {
		w.form.Set(planform.Name(i, "load"), w.lightest(st))
	}
}

// owned is what the patient has to lift and pull.
func (w *planWriting) owned() dose.Owned {
	o, err := w.v.clinic.OwnedBy(w.who.Record)
	if err != nil {
		return dose.Owned{}
	}
	return o
}

// lightest is the least load a stage takes; empty where there is none.
func (w *planWriting) lightest(st coach.Stage) string {
	for _, k := range st.Loads {
		if k == coach.BodyLoad {
			return coach.Body().String()
		}
		if all := w.owned().Loads(k); len(all) > 0 {
			return all[0].String()
		}
	}
	return ""
}

func (w *planWriting) fixed() planform.Fixed {
	return planform.Fixed{Clinic: w.v.clinic.Name, Voice: w.v.clinic.Voice, Unit: w.v.clinic.Unit, Tag: w.who.Tag, Home: w.home, Precautions: w.who.Precautions, Own: w.v.clinic.Exercises}
}

// keep makes a draft of the form, faults and all, so that no work is lost.
func (w *planWriting) keep() error {
	text, _ := w.form.Text(w.fixed())
	rx, checked, err := w.v.desk().Draft(w.v.ctx(), w.v.who, w.who.Tag, text)
	if err != nil {
		return err
	}
	if n := len(coach.Errors(checked.Faults)); n > 0 {
		return w.v.backBad(fmt.Sprintf("/patients/%s/plan/write?from=version-%d", w.who.Tag, rx.ID),
			"Kept as draft, version %d. It can't be approved yet: %s to put right.", rx.Version, plural(n, "thing is", "things are"))
	}
	return w.v.back(fmt.Sprintf("/plans/%d", rx.ID), "Kept as draft, version %d. It does nothing until a supervisor approves it.", rx.Version)
}

// show writes the page, with what the desk says of the plan as it is.
func (w *planWriting) show(status int) error {
	w.text, w.where = w.form.Text(w.fixed())
	checked, err := w.v.desk().CheckPlan(w.v.ctx(), w.v.who, w.who.Tag, w.text)
	if err != nil {
		return err
	}
	p, err := w.page(checked)
	if err != nil {
		return err
	}
	return w.v.pageAs(status, "plan-write", "A plan for "+personTitle(w.who), p)
}

// usual is the pace that an empty field stands for.
func (w *planWriting) usual() (map[string]string, error) {
	rules, err := w.v.desk().Protocol(w.v.ctx())
	if err != nil {
		return nil, err
	}
	p := plan.UsualPace(rules)
	out := map[string]string{"count_in": strconv.Itoa(p.CountIn), "breath_every": strconv.Itoa(p.BreathEvery)}
	for key, d := range map[string]time.Duration{"lift": p.Lift, "top": p.Top, "lower": p.Lower, "bottom": p.Bottom, "rest": p.Rest, "settle": p.Settle} {
		out[key] = coach.Decimal(d.Milliseconds())
	}
	return out, nil
}
