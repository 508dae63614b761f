package plan

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/strict"
)

// Write writes a plan as a file that Read gives back the same: every value in
// a fixed order, defaults written out, an item's pace only where it differs
// from the plan's. The same plan is the same bytes everywhere.
func Write(p *Plan) []byte {
	var w writer
	w.text("format", "day-plan/1")
	w.bare("day", string(p.Day))
	w.bare("until", string(p.Until))
	w.text("clinic", p.Clinic)
	w.text("voice", p.Voice)
	w.text("unit", string(p.Unit))
	if a := p.Approval; a != nil {
		w.head("[approval]")
		w.text("by", a.By)
		w.bare("at", a.At.UTC().Format(time.RFC3339Nano))
		w.text("sha256", a.SHA256)
		w.text("parent", a.Parent)
	}
	if p.Pace != (coach.Pace{}) {
		w.head("[pace]")
		w.pace(p.Pace, nil)
	}
	w.own(p.Own)
	for _, v := range p.Patients {
		w.patient(v, p.Pace)
	}
	return w.b.Bytes()
}

type writer struct{ b bytes.Buffer }

func (w *writer) head(header string) { fmt.Fprintf(&w.b, "\n%s\n", header) }

// bare writes a value that stands without quotes; nothing for an empty one.
func (w *writer) bare(key, value string) {
	if value != "" {
		fmt.Fprintf(&w.b, "%s = %s\n", key, value)
	}
}

func (w *writer) text(key, value string) {
	if value != "" {
		w.bare(key, strict.Quote(value))
	}
}

func (w *writer) patient(v Patient, plan coach.Pace) {
	w.head("[[patient]]")
	w.text("tag", v.Tag)
	w.text("call", v.Call)
	if v.Intro {
		w.bare("intro", "true")
	}
	w.text("note", v.Note)
	w.text("guide", string(v.Guide))
	w.text("part", string(v.Part))
	if v.WarmUpElsewhere {
		w.bare("warm_up_elsewhere", "true")
	}
	if v.CoolDownElsewhere {
		w.bare("cool_down_elsewhere", "true")
	}
	w.text("next_place", v.NextPlace)
	w.text("next_at", string(v.NextAt))
	if v.WarmUp != 0 {
		w.bare("warm_up", decimal(v.WarmUp))
	}
	if v.CoolDown != 0 {
		w.bare("cool_down", decimal(v.CoolDown))
	}
	w.home(v.Home)
	for _, p := range v.Precautions {
		w.head("[[patient.precaution]]")
		w.text("kind", string(p.Kind))
		w.text("side", string(p.Side))
		w.bare("since", string(p.Since))
		w.bare("until", string(p.Until))
	}
	for _, item := range v.Items {
		w.item(item, plan)
	}
}

// home writes the table of who exercises at home. Of canonical doses only the
// days between are there, and without them no table.
func (w *writer) home(h *coach.Home) {
	if h == nil || *h == (coach.Home{}) {
		return
	}
	w.head("[patient.home]")
	w.text("telephone", string(h.Telephone))
	w.text("emergency", h.Emergency)
	if h.Alone {
		w.bare("alone", "true")
	}
	if h.Telephone != "" || h.DaysBetween != 0 {
		w.bare("days_between", fmt.Sprint(h.DaysBetween))
	}
}

func (w *writer) item(v Item, plan coach.Pace) {
	w.head("[[patient.item]]")
	w.text("exercise", v.Exercise)
	w.bare("sets", fmt.Sprint(v.Dose.Sets))
	w.bare("reps", fmt.Sprint(v.Dose.Reps))
	w.text("load", v.Dose.Load.String())
	w.text("side", string(v.Sides))
	w.text("stage", v.Dose.Stage)
	w.pace(v.Pace, &plan)
	if v.Words == coach.WordsBrief {
		w.text("words", string(v.Words))
	}
	if v.Last != (coach.Done{}) {
		w.text("last_load", v.Last.Load.String())
		w.bare("last_reps", fmt.Sprint(v.Last.Reps))
	}
}

// pace writes the keys of a pace; where a base is given, those that differ.
func (w *writer) pace(p coach.Pace, base *coach.Pace) {
	for _, k := range timeKeys {
		if base == nil || *k.of(&p) != *k.of(base) {
			w.bare(k.key, decimal(*k.of(&p)))
		}
	}
	for _, k := range countKeys {
		if base == nil || *k.of(&p) != *k.of(base) {
			w.bare(k.key, fmt.Sprint(*k.of(&p)))
		}
	}
}

// decimal writes seconds exactly, with no more decimals than it needs.
func decimal(d time.Duration) string {
	sign := ""
	if d < 0 {
		sign, d = "-", -d
	}
	s := fmt.Sprintf("%s%d.%09d", sign, d/time.Second, d%time.Second)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
