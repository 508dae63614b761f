package record

import (
	"fmt"

	"evenbell/coach/desk/store"
	"evenbell/coach/screening"
)

// screenings turns each screening into an Observation of its verdict whose
// members are the readings.
func (b *builder) screenings() {
	for _, s := range b.Screenings {
		b.screening(s)
	}
}

func (b *builder) screening(s store.Screening) {
	o := observation{head: b.head("Observation", "screening", s.ID), Status: "final", Code: measure("screening"),
		Subject: b.subject, EffectiveDateTime: b.Clinic.stamp(s.At), ValueConcept: &concept{Text: string(s.Result.Verdict)},
		HasMember: b.readings(s)}
	if r := b.staff(s.By); r != nil {
		o.Performer = []reference{*r}
	}
	for _, line := range s.Result.Lines {
		o.Note = remark(o.Note, "", "", screeningLine(line))
	}
	b.add(o.head, o)
}

// readings are the measurements of a screening, vital signs by LOINC.
func (b *builder) readings(s store.Screening) []reference {
	var out []reference
	t := s.Today
	if t.HeartRate != nil {
		out = append(out, b.reading(s, "heart-rate", "vital-signs", vital("8867-4", "Heart rate"), "at rest",
			observation{ValueQuantity: reading(*t.HeartRate, "beats/minute", "/min")}))
	}
	for _, p := range []struct {
		how string
		*screening.Pressure
	}{{"sitting, at rest", t.Rest}, {"lying", t.Lying}, {"sitting", t.Sitting}, {"standing", t.Upright}} {
		if p.Pressure != nil {
			out = append(out, b.reading(s, "pressure/"+p.how, "vital-signs",
				vital("85354-9", "Blood pressure panel with all children optional"), p.how, pressure(*p.Pressure)))
		}
	}
	if t.Glucose != nil {
		out = append(out, b.reading(s, "glucose", "exam", measure("glucose"), "", observation{ValueQuantity: reading(*t.Glucose, "mmol/L", "mmol/L")}))
	}
	if t.WeightGain != nil {
		out = append(out, b.reading(s, "weight-gain", "exam", measure("weight-gain"), "", observation{ValueQuantity: reading(*t.WeightGain, "kg", "kg")}))
	}
	return out
}

func pressure(p screening.Pressure) observation {
	return observation{Component: []component{
		{Code: vital("8480-6", "Systolic blood pressure"), ValueQuantity: reading(p.Systolic, "mmHg", "mm[Hg]")},
		{Code: vital("8462-4", "Diastolic blood pressure"), ValueQuantity: reading(p.Diastolic, "mmHg", "mm[Hg]")},
	}}
}

func (b *builder) reading(s store.Screening, key, category string, code concept, how string, o observation) reference {
	o.head = b.head("Observation", "reading", fmt.Sprint(s.ID, "/", key))
	o.Status, o.Code, o.Subject, o.EffectiveDateTime = "final", code, b.subject, b.Clinic.stamp(s.At)
	o.Category = []concept{{Coding: []coding{{System: observations, Code: category}}}}
	if r := b.staff(s.By); r != nil {
		o.Performer = []reference{*r}
	}
	if how != "" {
		o.Method = &concept{Text: how}
	}
	return b.add(o.head, o)
}
