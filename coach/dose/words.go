package dose

import (
	"fmt"
	"time"

	"evenbell/coach"
)

// easy says what the last sessions showed.
func (c *patientCase) easy() string {
	seen := c.alike()
	lowest := coach.Reserve("")
	for _, s := range seen {
		lowest = lower(lowest, s.Reserve)
	}
	return fmt.Sprintf("last %d sessions complete at %s with %s or more left", len(seen), describe(c.dose), lowestOf(lowest))
}

// lowestOf is the least an answer can mean.
func lowestOf(r coach.Reserve) string {
	switch r {
	case coach.ReserveFew:
		return "2"
	case coach.ReserveMany:
		return "5"
	}
	return "none"
}

// describe writes a dose as staff would: "4 kg, 2 sets of 15".
func describe(d coach.Dose) string {
	sets := fmt.Sprintf("%d sets of %d", d.Sets, d.Reps)
	if d.Sets == 1 {
		sets = fmt.Sprintf("1 set of %d", d.Reps)
	}
	if d.Stage != "" {
		sets += ", " + d.Stage
	}
	return d.Load.String() + ", " + sets
}

// tooMuch says how a session argued for less.
func tooMuch(s Session) string {
	if s.Result == Short {
		return "a set was ended early by the person"
	}
	return "none or one repetition was left"
}

func on(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return " on " + string(coach.DayOf(t))
}

func counted(n int) string {
	if n == 1 {
		return "1 session"
	}
	return fmt.Sprintf("%d sessions", n)
}

func complete(n int) string {
	if n == 1 {
		return "1 complete session"
	}
	return fmt.Sprintf("%d complete sessions", n)
}
