package web

import (
	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// phaseWords is where in a session somebody is.
func phaseWords(phase string) string {
	words := map[string]string{
		"ready": "getting ready", "finished": "finished", "questions": "answering questions", "warm-up": "warming up", "set": "in a set", "rest": "resting",
		"effort": "saying how hard it was", "paused": "paused", "cool-down": "cooling down", "stopped": "stopped",
	}[phase]
	if words == "" {
		return phase
	}
	return words
}

// waitWords is what a station waits for.
func waitWords(id string) string {
	if id == "" {
		return ""
	}
	words := map[string]string{
		"ready": "a tap when ready", "effort": "how hard it was", "paused": "the end of a pause",
		coach.QuestionWell: "whether they feel well", coach.QuestionSymptoms: "whether there is anything new",
		coach.QuestionTablets: "whether tablets were taken", coach.QuestionWarmedUp: "whether they are warmed up",
		coach.QuestionTelephone: "whether the telephone is within reach", coach.QuestionRested: "whether the days between were kept",
		coach.QuestionAllRight: "whether all is well", coach.QuestionSymptom: "which symptom it is", coach.QuestionClosing: "how they feel afterwards",
	}[id]
	if words == "" {
		return id
	}
	return words
}

// more is what more is known of why somebody must look, with the name of what
// it is; both empty for nothing.
func more(n store.Attention) (name, words string) {
	switch detail := n.Symptom; {
	case detail == "":
		return "", ""
	case n.Reason == store.StopPressed || n.Reason == store.ClosingSymptom:
		return "felt", symptomWords(detail)
	case n.Reason == store.NotWell || n.Reason == store.NoAnswer:
		return "asked", waitWords(detail)
	default:
		return "more", detail
	}
}

// moreWords are more, to follow the reason in a sentence.
func moreWords(n store.Attention) string {
	name, words := more(n)
	if name == "" {
		return ""
	}
	return ", " + name + ": " + words
}

// symptomWords is a symptom as a person would say it.
func symptomWords(s string) string {
	words := map[coach.Symptom]string{
		coach.SymptomChest: "pressure, tightness or pain in the chest, arm, jaw or back", coach.SymptomBreath: "more out of breath than usual", coach.SymptomDizzy: "dizzy or faint",
		coach.SymptomHeart: "heart racing or out of step", coach.SymptomPain: "pain in a joint, a muscle or the wound", coach.SymptomOther: "something else",
		coach.SymptomMistake: "pressed by mistake",
	}[coach.Symptom(s)]
	if words == "" {
		return s
	}
	return words
}
