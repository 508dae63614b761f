package record

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// sessions turns each session into a Procedure and each set into an
// Observation that is part of it.
func (b *builder) sessions() {
	for _, s := range b.Sessions {
		b.session(s)
	}
}

func (b *builder) session(s Session) {
	p := procedure{head: b.head("Procedure", "session", s.ID), Identifier: []identifier{{sessions, s.ID}},
		Status: procedureStatus(s), Category: &concept{Text: "cardiac rehabilitation"}, Code: measure("session"),
		Subject: b.subject, Encounter: b.in[s.ID].encounter, PerformedPeriod: b.period(s.Start, s.End), BasedOn: b.basis(s),
		Outcome: &concept{Text: outcomeWords(s.Outcome)}}
	if r := b.station(s.Station); r != nil {
		p.Performer = []performer{{*r}}
	}
	if s.Symptom != "" && s.Symptom != coach.SymptomMistake {
		p.Complication = []concept{{Text: symptomWords(s.Symptom)}}
	}
	for _, m := range s.Marks {
		p.Note = remark(p.Note, "", "", "Log: "+string(m))
	}
	if s.Within > 0 {
		p.Note = remark(p.Note, "", "", fmt.Sprintf("The station had no trusted clock; times may be off by %s.", after(s.Within)))
	}
	for _, what := range b.in[s.ID].notHere {
		p.Note = remark(p.Note, "", "", "The visit: "+what+".")
	}
	r := b.add(p.head, p)
	b.have[p.ID] = r
	for _, it := range s.Items {
		for _, set := range it.Sets {
			b.set(s, r, it, set)
		}
	}
}

// basis is the programme the session was led under: the one the caller names,
// else one with the fingerprint of the session's plan.
func (b *builder) basis(s Session) []reference {
	if s.Under != 0 {
		return b.known("prescription", s.Under)
	}
	for _, p := range b.Prescriptions {
		if p.Fingerprint != "" && p.Fingerprint == s.Made.Plan {
			return b.known("prescription", p.ID)
		}
	}
	return nil
}

func procedureStatus(s Session) string {
	switch s.Outcome {
	case coach.Completed, coach.FinishedEarly:
		return "completed"
	case coach.Stopped, coach.Abandoned:
		return "stopped"
	case coach.NotStarted:
		return "not-done"
	}
	return "unknown"
}

func (b *builder) period(start, end time.Time) *period {
	if start.IsZero() {
		return nil
	}
	return &period{b.Clinic.stamp(start), b.Clinic.stamp(end)}
}

func (b *builder) set(s Session, of reference, it *review.Item, set *review.Set) {
	span := s.span(it, set)
	o := observation{head: b.head("Observation", "set", fmt.Sprint(s.ID, "/", it.Number, "/", set.Number, "/", set.Side)),
		PartOf: []reference{of}, Status: "final", Category: []concept{{Coding: []coding{{observations, "activity", "Activity"}}}},
		Code: measure("set"), Subject: b.subject, Encounter: b.in[s.ID].encounter, EffectivePeriod: b.period(span.start, span.end), Device: b.station(s.Station),
		Component: b.measures(it, set)}
	if s.Doubtful {
		o.Status = "preliminary"
		o.Note = remark(o.Note, "", "", "The log of this session is incomplete or contradicts itself.")
	}
	b.add(o.head, o)
}

func (b *builder) measures(it *review.Item, set *review.Set) []component {
	exercise := b.Clinic.exerciseConcept(it.Exercise)
	out := []component{{Code: measure("exercise"), ValueConcept: &exercise}}
	if it.Dose.Reps > 0 { // the dose was logged
		out = append(out, loadComponent(it.Dose.Load))
		if it.Dose.Stage != "" {
			out = append(out, component{Code: measure("stage"), ValueConcept: &concept{Text: it.Dose.Stage}})
		}
	}
	out = append(out, count("set-number", set.Number))
	if set.Side != coach.NoSide {
		out = append(out, component{Code: measure("side"), ValueConcept: answer(string(set.Side))})
	}
	ended := string(set.Ended)
	if ended == "" {
		ended = "lost"
	}
	out = append(out, count("reps-led", set.Led), count("reps-confirmed", set.Confirmed),
		component{Code: measure("ended"), ValueConcept: answer(ended)}, reserveComponent(set))
	return append(out, timings(set)...)
}

func reserveComponent(set *review.Set) component {
	if set.Reserve == "" {
		return component{Code: measure("reserve"), Absent: &concept{Coding: []coding{{absence, "unknown", "Unknown"}}}}
	}
	return component{Code: measure("reserve"), ValueConcept: answer(string(set.Reserve))}
}

func timings(set *review.Set) []component {
	var out []component
	add := func(code string, d time.Duration) {
		if d > 0 {
			q := &quantity{json.Number(coach.Decimal(d.Milliseconds())), "s", ucum, "s"}
			out = append(out, component{Code: measure(code), ValueQuantity: q})
		}
	}
	add("time-work", set.Work)
	add("time-tension", set.Tension)
	add("time-rest", set.Rest)
	add("pace-period", set.Pace.Period)
	if set.Pace.Pairs > 0 {
		add("pace-mean", set.Pace.Mean)
		add("pace-sd", set.Pace.Spread)
	}
	return out
}

// attentions turns what staff had to look at into Observations, a component a
// step.
func (b *builder) attentions() {
	for _, a := range b.Attentions {
		o := observation{head: b.head("Observation", "attention", a.ID), Status: "final", Code: measure("attention"),
			PartOf: b.known("session", a.Session), Subject: b.subject, Encounter: b.in[a.Session].encounter, EffectiveDateTime: b.Clinic.stamp(a.Raised),
			ValueConcept: &concept{Text: reasonWords(a.Reason)}, Component: b.steps(a)}
		if a.Closed == nil {
			o.Status = "preliminary"
		}
		for _, by := range []string{a.AcknowledgedBy, a.GoingBy, a.ClosedBy} {
			if r := b.staff(by); r != nil && !slices.Contains(o.Performer, *r) {
				o.Performer = append(o.Performer, *r)
			}
		}
		for _, text := range []string{a.Done, a.Ended} {
			o.Note = remark(o.Note, a.ClosedBy, "", text)
		}
		b.add(o.head, o)
	}
}

func (b *builder) steps(a store.Attention) []component {
	var out []component
	if a.Symptom != "" {
		out = append(out, component{Code: measure("symptom"), ValueConcept: &concept{Text: symptomWords(coach.Symptom(a.Symptom))}})
	}
	step := func(code string, at *time.Time) {
		if at != nil && !at.IsZero() {
			out = append(out, component{Code: measure(code), ValueDateTime: b.Clinic.stamp(*at)})
		}
	}
	step("delivered", &a.Delivered)
	step("shown", a.Shown)
	step("acknowledged", a.Acknowledged)
	step("going", a.Going)
	step("told", a.Told)
	step("closed", a.Closed)
	return out
}

// reasonWords says why somebody had to look.
func reasonWords(r store.Reason) string {
	switch r {
	case store.StopPressed:
		return "the red button was pressed"
	case store.NotWell:
		return "a readiness question was answered with not well"
	case store.ClosingSymptom:
		return "something was felt, by the closing question"
	case store.NoAnswer:
		return "nobody answered the station"
	case store.LostStation:
		return "the station was not heard from"
	case store.LogDamaged:
		return "the station's log is damaged"
	case store.PartFailed:
		return "a part of the station failed"
	case store.PlanUnknown:
		return "the station had a plan that the desk did not know"
	}
	return string(r)
}
