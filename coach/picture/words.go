package picture

import (
	"fmt"
	"strings"
	"time"

	"evenbell/coach"
)

// clock writes a position as minutes and seconds, to the second below.
func clock(n coach.Samples) string {
	s := int64(coach.SessionRate.Duration(n) / time.Second)
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// lasts writes a length as minutes and seconds, to the nearest second.
func lasts(n coach.Samples) string { return clock(n + coach.Samples(coach.SessionRate)/2) }

// spaced turns an id into words.
func spaced(id string) string { return strings.ReplaceAll(id, "-", " ") }

// counted is "1 set" or "2 sets".
func counted(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// signed writes n with its sign.
func signed(n int) string {
	if n < 0 {
		return fmt.Sprintf("−%d", -n)
	}
	return fmt.Sprintf("+%d", n)
}

// doseWords says what an exercise was to be.
func doseWords(d *coach.ItemStartData) string {
	s := fmt.Sprintf("%s of %d", counted(d.Sets, "set"), d.Reps)
	switch d.Sides {
	case coach.Alternating:
		s += " in all, sides taking turns"
	case coach.EachSide:
		s += " on each side"
	case coach.LeftOnly, coach.RightOnly:
		s += " on the " + string(d.Sides)
	}
	load := d.Load.String()
	if d.Load.Kind() == coach.BodyLoad {
		load = "body weight"
	}
	return spaced(d.Stage) + " · " + s + " · " + load
}

// label says what was led in a set.
func (s setDone) label() string {
	t := fmt.Sprintf("set %d", s.entry.Set)
	if s.of > 0 {
		t += fmt.Sprintf(" of %d", s.of)
	}
	if s.entry.Side == coach.Left || s.entry.Side == coach.Right {
		t += " · " + string(s.entry.Side)
	}
	t += fmt.Sprintf(" · %d led", s.led)
	if s.confirmed > 0 {
		t += fmt.Sprintf(", %d confirmed", s.confirmed)
	}
	return t + " · " + s.ended
}

func endingWords(e coach.SetEnding) string {
	switch e {
	case coach.EndedComplete:
		return "complete"
	case coach.EndedEnough:
		return "ended: enough"
	case coach.EndedStop:
		return "ended by stop"
	case coach.EndedFault:
		return "broken off"
	}
	return spaced(string(e))
}

func reserveWords(r coach.Reserve) string {
	switch r {
	case coach.ReserveNone:
		return "none or one"
	case coach.ReserveFew:
		return "two to four"
	case coach.ReserveMany:
		return "five or more"
	}
	return string(r)
}

// questionWords puts a question in short, so that "yes" means all is well.
func questionWords(p coach.PhraseID) string {
	switch p {
	case coach.AskWell:
		return "feeling well?"
	case coach.AskSymptoms:
		return "no new symptoms?"
	case coach.AskSincePlace:
		return "nothing felt since?"
	case coach.AskTablets:
		return "tablets taken?"
	case coach.AskWarmedUp:
		return "warmed up?"
	case coach.AskTelephone:
		return "telephone within reach?"
	case coach.AskAllRight:
		return "all well?"
	case coach.AskClosing:
		return "felt well throughout?"
	case coach.AskEffort:
		return "how many more?"
	case coach.AskSymptom:
		return "what is felt?"
	}
	return spaced(string(p)) + "?"
}

func answerWords(a string) string {
	switch coach.Symptom(a) {
	case coach.AnswerWell:
		return "yes"
	case coach.AnswerNotWell:
		return "no"
	case coach.SymptomChest:
		return "chest"
	case coach.SymptomBreath:
		return "out of breath"
	case coach.SymptomDizzy:
		return "dizzy"
	case coach.SymptomHeart:
		return "heart racing or uneven"
	case coach.SymptomPain:
		return "pain"
	case coach.SymptomOther:
		return "something else"
	case coach.SymptomMistake:
		return "pressed by mistake"
	}
	return spaced(a)
}

func outcomeWords(o coach.Outcome) string {
	switch o {
	case "":
		return "the record breaks off here"
	case coach.Completed:
		return "completed"
	case coach.FinishedEarly:
		return "finished early"
	case coach.Stopped:
		return "stopped"
	case coach.Abandoned:
		return "abandoned: nobody answered"
	case coach.NotStarted:
		return "not started: an answer was not well"
	}
	return spaced(string(o))
}

func partWords(p coach.Part) string {
	if p == coach.Whole || p == "" {
		return "whole session"
	}
	return string(p) + " part of the session"
}
