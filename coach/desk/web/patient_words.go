package web

import (
	"fmt"
	"html/template"
	"strings"
	"time"
	"unicode"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/desk"
	"evenbell/coach/protocol"
)

// wordFuncs are the words that templates of patients and plans are made of.
var wordFuncs = template.FuncMap{
	"day":         dayWords,
	"precaution":  precautionWords,
	"sides":       sidesWords,
	"load":        loadWords,
	"minutes":     minuteWords,
	"verdict":     verdictKind,
	"finding":     findingWords,
	"readings":    func(s string) string { return strings.ReplaceAll(s, "mm[Hg]", "mmHg") },
	"seconds":     secondWords,
	"tenths":      tenthWords,
	"linename":    lineName,
	"swap":        choiceValue,
	"choicewords": choiceWords,
	"action":      actionWords,
	"answer":      answerWords,
	"left":        leftWords,
	"leftof":      leftOf,
	"rankkind":    rankKind,
	"rank":        rankWords,
	"dose":        doseWords,
	"reason":      reasonWords,
	"rounds":      roundSeconds,
	"length":      lengthWords,
	"more":        moreWords,
	"pace":        paceWords,
	"fault":       faultWords,
	"plus":        func(a, b int) int { return a + b },
	"before":      func(s, sep string) string { head, _, _ := strings.Cut(s, sep); return head },
	"after":       func(s, sep string) string { _, tail, _ := strings.Cut(s, sep); return tail },
}

// dayWords is a day as it stands in a sentence; a dash for none.
func dayWords(d coach.Day) string {
	if d == "" {
		return "–"
	}
	return d.Time().Format("2 January 2006")
}

// precautionWords is a precaution with how long it lasts.
func precautionWords(p coach.Precaution) string {
	words := precautionName(p.Kind)
	if p.Side == coach.Left || p.Side == coach.Right {
		words = string(p.Side) + " " + words
	}
	if p.Since != "" {
		words += ", since " + dayWords(p.Since)
	}
	if p.Until != "" {
		words += ", until " + dayWords(p.Until)
	}
	return words
}

// precautionNames are the kinds as staff say them.
var precautionNames = map[coach.PrecautionKind]string{
	coach.Sternum: "breastbone healing", coach.ShoulderTrouble: "shoulder", coach.KneeTrouble: "knee",
	coach.LowerBackTrouble: "lower back", coach.NoFloor: "not on the floor", coach.PoorBalance: "poor balance",
	coach.DeviceArm: "arm on the device's side", coach.WristTrouble: "wrist", coach.NeckTrouble: "neck",
}

func precautionName(k coach.PrecautionKind) string {
	if s, ok := precautionNames[k]; ok {
		return s
	}
	return string(k)
}

// sidesWords is how repetitions are shared between the sides.
func sidesWords(s coach.Sides) string {
	switch s {
	case coach.BothSides:
		return "both sides together"
	case coach.Alternating:
		return "in turn"
	case coach.EachSide:
		return "each side"
	case coach.LeftOnly:
		return "left only"
	case coach.RightOnly:
		return "right only"
	}
	return string(s)
}

func loadWords(l coach.Load) string {
	if l.Kind() == coach.BodyLoad {
		return "no weight"
	}
	return l.String()
}

// doseWords is a dose in one short phrase: "2 × 10 with 2.5 kg".
func doseWords(d coach.Dose) string {
	load := " with " + d.Load.String()
	if d.Load.Kind() == coach.BodyLoad {
		load = ", no weight"
	}
	return fmt.Sprintf("%d × %d%s", d.Sets, d.Reps, load)
}

// minuteWords is a length to the nearest minute.
func minuteWords(d time.Duration) string {
	return fmt.Sprintf("%d min", int(d.Round(time.Minute)/time.Minute))
}

func secondWords(d time.Duration) string { return coach.Decimal(d.Milliseconds()) + " s" }

// tenthWords is a length in tenths of a second.
func tenthWords(d time.Duration) string { return fmt.Sprintf("%.1f s", d.Seconds()) }

// verdictKind is the kind of state that shows a verdict.
func verdictKind(v protocol.Verdict) string {
	switch v {
	case protocol.MayStart:
		return "good"
	case protocol.Ask:
		return "warn"
	case protocol.NotToday:
		return "bad"
	}
	return "info"
}

// findingWords is what a self-test found, a station's trouble in plain words.
func findingWords(s string) string {
	words := map[coach.Trouble]string{
		coach.TroublePlanMissing: "it has no plan for today", coach.TroublePlanFaulty: "its plan can’t be read", coach.TroublePlanUnapproved: "its plan is approved by nobody",
		coach.TroublePlanOtherDay: "its plan is for another day", coach.TroubleRedMissing: "the red button is not connected", coach.TroubleButtons: "the buttons do not answer",
		coach.TroubleStuck: "a button is stuck", coach.TroubleSpaceLow: "room for its log runs out within a month", coach.TroubleSpaceFull: "no room is left to log a session",
		coach.TroubleLogDamaged: "an older log was damaged and is kept aside", coach.TroubleLogFailed: "its log can’t be kept any more", coach.TroubleClock: "its clock is not set",
		coach.TroubleVoice: "the plan’s voice is damaged; English speaks instead", coach.TroublePower: "the power went off in a session", coach.TroubleHeld: "somebody is held",
	}
	if w := words[coach.Trouble(s)]; w != "" {
		return w
	}
	return s
}

// names finds exercises, the clinic's own among them.
type names struct{ own []coach.OwnExercise }

func (v *visit) names() names { return names{v.clinic.Exercises} }

// find is an exercise by id; one nobody knows any more has its id for a name.
func (n names) find(id string) coach.Exercise {
	for _, e := range n.own {
		if e.ID == id {
			out := e.Exercise
			out.Name = capital(out.Name) // they are written as in the middle of a sentence
			return out
		}
	}
	if e, ok := catalogue.Find(id); ok {
		return e
	}
	return coach.Exercise{ID: id, Name: id}
}

// Exercise is an exercise's name.
func (n names) Exercise(id string) string { return n.find(id).Name }

// Stage is a stage's name; empty where the exercise has but one.
func (n names) Stage(exercise, stage string) string {
	e := n.find(exercise)
	if len(e.Stages) < 2 {
		return ""
	}
	if s, ok := catalogue.Stage(e, stage); ok {
		return s.Name
	}
	return stage
}

// Full is an exercise with its stage: "Half squat, holding on".
func (n names) Full(exercise, stage string) string {
	if s := n.Stage(exercise, stage); s != "" {
		return n.Exercise(exercise) + ", " + lower(s)
	}
	if coach.IsOwn(exercise) {
		return n.Exercise(exercise) + " (our own)"
	}
	return n.Exercise(exercise)
}

// lower is a name as it stands within a sentence.
func lower(s string) string {
	for i, r := range s {
		return string(unicode.ToLower(r)) + s[i+len(string(r)):]
	}
	return s
}

// Dose is a dose of an exercise with its stage where that is a choice.
func (n names) Dose(exercise string, d coach.Dose) string {
	if s := n.Stage(exercise, d.Stage); s != "" {
		return doseWords(d) + ", " + lower(s)
	}
	return doseWords(d)
}

// personTitle is what a patient's pages are called.
func personTitle(p *desk.Person) string {
	if p.Name == "" {
		return p.Tag
	}
	return p.Name
}
