package record

import (
	"cmp"
	"encoding/json"
	"strconv"

	"evenbell/coach"
)

// The code systems. No LOINC code was found for loads, repetitions and sets,
// so those are our own, defined in the bundle itself.
const (
	loinc        = "http://loinc.org"
	ucum         = "http://unitsofmeasure.org"
	observations = "http://terminology.hl7.org/CodeSystem/observation-category"
	absence      = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
	participants = "http://terminology.hl7.org/CodeSystem/provenance-participant-type"

	actCodes = "http://terminology.hl7.org/CodeSystem/v3-ActCode"

	measures    = "urn:evenbell:measure"
	exercises   = "urn:evenbell:exercise"
	answers     = "urn:evenbell:answer"
	precautions = "urn:evenbell:precaution"
	tags        = "urn:evenbell:tag"
	sessions    = "urn:evenbell:session"
	visits      = "urn:evenbell:visit"
	prints      = "urn:evenbell:fingerprint"
	doses       = "urn:evenbell:dose"         // extension: a dose as numbers
	decided     = "urn:evenbell:decided-dose" // extension: what was decided instead of what was proposed
)

// measured are the codes of urn:evenbell:measure.
var measured = []codeConcept{
	{"session", "Resistance session", "One session of paced resistance exercise on one station."},
	{"set", "Set of an exercise", "One set on one side."},
	{"exercise", "Exercise", "Which exercise the set was of."},
	{"stage", "Stage", "Which stage of the exercise, from easier to harder."},
	{"set-number", "Set number", "From 1 within an exercise."},
	{"side", "Side", "The side of the body that worked; both where both did."},
	{"reps-led", "Repetitions led", "Repetitions the station paced. Not every one need have been done."},
	{"reps-confirmed", "Repetitions confirmed", "Repetitions in which the patient tapped. A missing tap is no failed repetition."},
	{"load", "Load", "Mass of one dumbbell, a band by its place in the clinic's own order, or the body alone."},
	{"reserve", "Repetitions in reserve", "How many more the patient thought possible: 0-1, 2-4 or 5+."},
	{"ended", "How the set ended", "complete, enough (ended by the patient), stop or fault; lost where the log does not say."},
	{"time-work", "Time of the set", "From the tap that began the set to its end."},
	{"time-tension", "Time in repetitions", "Time within led repetitions."},
	{"time-rest", "Rest", "Rest logged after the set."},
	{"pace-period", "Period led", "Length of a repetition as paced."},
	{"pace-mean", "Period kept, mean", "Mean time between taps of repetitions in a row."},
	{"pace-sd", "Period kept, deviation", "Sample standard deviation of the same."},
	{"screening", "Screening", "Verdict of a day's screening against the clinic's protocol."},
	{"glucose", "Blood glucose before exercise", "As measured at the screening."},
	{"weight-gain", "Weight gain", "Over three days, as told at the screening."},
	{"attention", "Attention", "Something staff had to look at, with the time of each step."},
	{"symptom", "Symptom named", "As named by the patient after a stop."},
	{"delivered", "Delivered at the desk", ""},
	{"shown", "First shown on a page", ""},
	{"acknowledged", "Acknowledged by a named person", ""},
	{"going", "A named person on the way", ""},
	{"told", "Patient told that help is coming", ""},
	{"closed", "Closed by a named person", ""},
}

// answered are the codes of urn:evenbell:answer.
var answered = []codeConcept{
	{string(coach.ReserveNone), "None or one repetition left", ""},
	{string(coach.ReserveFew), "Two to four repetitions left", ""},
	{string(coach.ReserveMany), "Five or more repetitions left", ""},
	{string(coach.EndedComplete), "Led to its end", ""},
	{string(coach.EndedEnough), "Ended by the patient", ""},
	{string(coach.EndedStop), "Ended by the red button", ""},
	{string(coach.EndedFault), "Ended by a fault of the station", ""},
	{"lost", "End not in the log", ""},
	{string(coach.Left), "Left", ""},
	{string(coach.Right), "Right", ""},
	{string(coach.Both), "Both", ""},
	{"body", "The body alone", ""},
}

func display(all []codeConcept, code string) string {
	for _, c := range all {
		if c.Code == code {
			return c.Display
		}
	}
	return code
}

func measure(code string) concept {
	return concept{Coding: []coding{{measures, code, display(measured, code)}}}
}

func answer(code string) *concept {
	return &concept{Coding: []coding{{answers, code, display(answered, code)}}}
}

func vital(code, name string) concept {
	return concept{Coding: []coding{{loinc, code, name}}, Text: name}
}

func (c Clinic) exerciseConcept(id string) concept {
	name := cmp.Or(clean(c.exercise(id)), id)
	return concept{Coding: []coding{{exercises, id, name}}, Text: name}
}

// mass is a dumbbell's load in the unit it was written in.
func mass(l coach.Load) *quantity {
	unit, code := "kg", "kg"
	if l.Unit() == coach.Pound {
		unit, code = "lb", "[lb_av]"
	}
	return &quantity{json.Number(coach.Decimal(l.Milli())), unit, ucum, code}
}

func loadComponent(l coach.Load) component {
	out := component{Code: measure("load")}
	switch l.Kind() {
	case coach.DumbbellLoad:
		out.ValueQuantity = mass(l)
	case coach.BandLoad:
		out.ValueConcept = &concept{Text: l.String()}
	default:
		out.ValueConcept = answer("body")
	}
	return out
}

func count(code string, n int) component { return component{Code: measure(code), ValueInteger: &n} }

// reading is a measured number with the digits it was typed with.
func reading(v float64, unit, code string) *quantity {
	return &quantity{json.Number(strconv.FormatFloat(v, 'f', -1, 64)), unit, ucum, code}
}
