package record

import (
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"evenbell/coach"
	"evenbell/coach/catalogue"
)

// Caution is the line that stands on everything printed.
const Caution = "The station paces and records. It is no monitor and no alarm system. " +
	"The local protocol and licensed staff decide."

// Clinic is what heads every record.
type Clinic struct {
	Name      string
	Telephone string           // may be empty
	Zone      *time.Location   // nil is UTC
	Exercises []coach.Exercise // the clinic's own, beside the catalogue
}

func (c Clinic) find(id string) (coach.Exercise, bool) {
	i := slices.IndexFunc(c.Exercises, func(e coach.Exercise) bool { return e.ID == id })
	if i >= 0 {
		return c.Exercises[i], true
	}
	return catalogue.Find(id)
}

// exercise is an exercise's plain name, or its id where nobody knows a name.
func (c Clinic) exercise(id string) string {
	if e, ok := c.find(id); ok && e.Name != "" {
		return e.Name
	}
	return id
}

// stage is a stage's plain name; empty where the exercise has but one.
func (c Clinic) stage(exercise, id string) string {
	e, ok := c.find(exercise)
	if !ok {
		return id
	}
	if len(e.Stages) == 1 {
		return ""
	}
	if s, ok := catalogue.Stage(e, id); ok && s.Name != "" {
		return s.Name
	}
	return id
}

func (c Clinic) zone() *time.Location {
	if c.Zone == nil {
		return time.UTC
	}
	return c.Zone
}

// in is t in the clinic's zone; the zero time stays the zero time.
func (c Clinic) in(t time.Time) time.Time {
	if t.IsZero() {
		return t
	}
	return t.In(c.zone())
}

// stamp is t as written in data: RFC 3339 with milliseconds and the clinic's
// offset; empty for the zero time.
func (c Clinic) stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return c.in(t).Format("2006-01-02T15:04:05.000Z07:00")
}

// said is t as people read it: "2 March 2026, 09:00".
func (c Clinic) said(t time.Time) string {
	if t.IsZero() {
		return "an unknown time"
	}
	return c.in(t).Format("2 January 2006, 15:04")
}

// clock is the time of day of t, to the second.
func (c Clinic) clock(t time.Time) string {
	if t.IsZero() {
		return "--:--:--"
	}
	return c.in(t).Format("15:04:05")
}

// dayWords is a day as people read it.
func dayWords(d coach.Day) string {
	if d == "" {
		return "an unknown day"
	}
	return d.Time().Format("2 January 2006")
}

// upper begins a sentence.
func upper(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:n]) + s[n:]
}

// lower goes on within one.
func lower(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToLower(s[:n]) + s[n:]
}
