package coach

import (
	"fmt"
	"time"
)

// TimeOfDay is a time on the clinic's clock, written HH:MM. The empty
// TimeOfDay means none was given.
type TimeOfDay string

const timeOfDayForm = "15:04"

// ParseTimeOfDay reads a time of day.
func ParseTimeOfDay(s string) (TimeOfDay, error) {
	if t, err := time.Parse(timeOfDayForm, s); err != nil || t.Format(timeOfDayForm) != s {
		return "", fmt.Errorf("%q is no time of day; write it as \"09:10\"", s)
	}
	return TimeOfDay(s), nil
}

// TimeOfDayAt is the time of day of t in t's own time zone.
func TimeOfDayAt(t time.Time) TimeOfDay { return TimeOfDay(t.Format(timeOfDayForm)) }

// Minutes counts from midnight; -1 for no time.
func (c TimeOfDay) Minutes() int {
	t, err := time.Parse(timeOfDayForm, string(c))
	if err != nil {
		return -1
	}
	return 60*t.Hour() + t.Minute()
}

// Next is where a patient goes after this station, and when it is free.
type Next struct {
	Place string    // as staff typed it, such as "the place by the window"; empty: no more is said than that there is one
	At    TimeOfDay // empty where not known
	// Free is how far into this session At is, below zero where it was before;
	// it counts where Timed is true, which it is not where no clock is
	// trusted.
	Free  time.Duration
	Timed bool
}

// From places the time of day on the clock of a session that began at start,
// a time in the clinic's zone.
func (n Next) From(start time.Time) Next {
	if n.At == "" {
		return n
	}
	day := time.Date(start.Year(), start.Month(), start.Day(), 0, n.At.Minutes(), 0, 0, start.Location())
	n.Free, n.Timed = day.Sub(start), true
	if half := 12 * time.Hour; n.Free < -half { // past midnight
		n.Free += 2 * half
	}
	return n
}

// MinutesUntil is how many minutes to speak of for a wait: the nearest whole
// number, 0 for under half a minute, which means now.
func MinutesUntil(wait time.Duration) int { return int(max(0, wait+30*time.Second) / time.Minute) }

// soon is up to how many minutes a wait is told in minutes; a longer one by the
// clock. common practice, no source.
const soon = 15

// Says is the phrase that tells where to go next, at a moment of the session.
func (n Next) Says(now time.Duration) Phrase {
	p := Phrase{ID: SayNext, Name: n.Place}
	switch minutes := MinutesUntil(n.Free - now); {
	case n.At == "":
		p.When = WhenUnknown
	case n.Timed && minutes == 0:
		p.When = WhenNow
	case n.Timed && minutes <= soon:
		p.When, p.Seconds = WhenSoon, 60*minutes
	default:
		p.When, p.N = WhenAt, n.At.Minutes()
	}
	return p
}

// When is how a phrase speaks of a time.
type When string

// The ways. WhenSoon counts minutes; WhenAt names the time of day.
const (
	WhenUnknown When = ""
	WhenNow     When = "now"
	WhenSoon    When = "soon"
	WhenAt      When = "at"
)
