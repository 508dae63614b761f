package record

import (
	"fmt"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
)

// events are what may be about the heart first, then what else happened.
func (in NoteInput) events() []string {
	var out []string
	for _, s := range in.Sessions {
		for _, e := range s.Events {
			out = append(out, in.at(s, in.event(s, e)))
		}
		for _, q := range s.Questions {
			if q.ID == coach.QuestionSymptom || q.ID == coach.QuestionAllRight {
				out = append(out, in.at(s, questionWords(s.Part, q))+".")
			}
		}
		for _, f := range s.Faults {
			out = append(out, in.at(s, fmt.Sprintf("A part of the station failed: %s.", joined(", ", f.Part, f.Detail))))
		}
	}
	if len(out) == 0 {
		return []string{"None."}
	}
	return out
}

func (in NoteInput) event(s Session, e dose.Event) string {
	words := map[dose.EventKind]string{dose.StopEvent: "The red button was pressed", dose.NotStartedEvent: "The session was not started",
		dose.ClosingEvent: "Something was felt, by the closing question", dose.NoAnswerEvent: "Nobody answered the station"}[e.Kind]
	if e.Kind == dose.StopEvent && !s.Red {
		words = "The session was stopped by an answer"
	}
	if words == "" {
		words = upper(string(e.Kind))
	}
	if e.At.IsZero() {
		return words + ", at an unknown time."
	}
	return words + " at " + in.Clinic.clock(e.At) + "."
}

// looked is who was told, who came, and how it ended.
func (in NoteInput) looked() []string {
	var out []string
	for _, a := range in.Attentions {
		out = append(out, in.attention(a))
	}
	for _, h := range in.Holds {
		line := fmt.Sprintf("The tag was held from %s", in.Clinic.said(h.Since))
		if h.Cleared != nil {
			line += fmt.Sprintf(" and cleared by %s on %s", h.ClearedBy, in.Clinic.said(*h.Cleared))
			line = joined(": ", line, strings.TrimRight(h.Note, ". "))
		} else {
			line += " and is not cleared"
		}
		out = append(out, line+".")
	}
	return out
}

func (in NoteInput) attention(a store.Attention) string {
	steps := []string{fmt.Sprintf("%s (%s)", upper(reasonWords(a.Reason)), in.Clinic.clock(a.Raised))}
	step := func(at *time.Time, format, by string) {
		if at == nil {
			return
		}
		s := strings.ReplaceAll(format, "%", by)
		if !a.Raised.IsZero() {
			s += " after " + after(at.Sub(a.Raised))
		}
		steps = append(steps, s)
	}
	step(a.Shown, "on a page", "")
	step(a.Acknowledged, "acknowledged by %", a.AcknowledgedBy)
	step(a.Going, "% on the way", a.GoingBy)
	step(a.Told, "the patient told so", "")
	step(a.Closed, "closed by %", a.ClosedBy)
	out := strings.Join(steps, ", ") + "."
	if a.Acknowledged == nil {
		out += " Nobody has acknowledged it."
	}
	if a.Done != "" {
		out += " Done: " + strings.TrimRight(a.Done, ". ") + "."
	}
	if a.Ended != "" {
		out += " Ended: " + strings.TrimRight(a.Ended, ". ") + "."
	}
	return out
}

// after is how long people took: tenths of a second while they matter.
func after(d time.Duration) string {
	if d < 10*time.Second {
		return coach.Decimal(d.Round(100*time.Millisecond).Milliseconds()) + " s"
	}
	return minutes(d)
}
