package review

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
)

// History is what this log of one person says about one exercise, for
// [dose.Propose]. Clearances, precautions, ceilings, the planned dose and
// admissions are the caller's to add; Clearances() gives what the log has.
func (l *Log) History(e coach.Exercise) dose.History {
	h := dose.History{Exercise: e}
	latest := l.latest()
	for _, v := range l.Visits() {
		h.Events = append(h.Events, v.Events()...)
		of, known := v.session(latest), false
		for _, s := range v.sessions() {
			for _, it := range s.Items {
				if it.Exercise != e.ID || !it.Known {
					continue
				}
				h.Sides, known = sides(it, e), true
				h.Sessions = append(h.Sessions, it.session(s, of))
			}
		}
		if of.Doubtful && !known {
			// What is missing may be about this exercise.
			h.Sessions = append(h.Sessions, of)
		}
	}
	h.Sessions = settleUnknown(h.Sessions)
	return h
}

// latest is when the last dated session began.
func (l *Log) latest() time.Time {
	var at time.Time
	for _, s := range l.Sessions {
		if s.Start.After(at) {
			at = s.Start
		}
	}
	return at
}

// session is the visit as the dose rules see it, of an exercise of which nobody
// can say whether it was in it. What is doubtful at one place, or missing, is
// doubtful of all: it may hide a stop. So is a visit without a trusted time,
// which comes last. Every part counts from the visit's beginning: what follows
// a stop in the same visit is no quiet session after it.
func (v Visit) session(latest time.Time) dose.Session {
	out := dose.Session{At: v.Start(), Result: dose.Cut, Doubtful: v.Doubtful() || !v.Whole()}
	for _, s := range v.Stays {
		out.IDs = append(out.IDs, s.ID)
	}
	if out.At.IsZero() {
		out.At, out.Doubtful = latest, true
	}
	return out
}

// session is an item of s as the dose rules see it, in a visit.
func (it *Item) session(s *Session, of dose.Session) dose.Session {
	out := of
	out.IDs, out.Dose, out.Result, out.Reserve, out.Unanswered, out.Worked = []string{s.ID}, it.Dose, it.Result, it.Reserve, it.Unanswered, it.Worked()
	if s.Start.IsZero() {
		out.Doubtful = true
		if out.Result == dose.Complete {
			out.Result = dose.Cut
		}
	}
	return out
}

// settleUnknown gives sessions of no known dose the dose of the one before
// them, so that they change nothing but trust; without one they go.
func settleUnknown(all []dose.Session) []dose.Session {
	var out []dose.Session
	var before *coach.Dose
	for _, s := range all {
		if s.Dose == (coach.Dose{}) {
			if before == nil {
				continue
			}
			s.Dose = *before
		}
		before = &s.Dose
		out = append(out, s)
	}
	return out
}

// Worked reports whether at least one repetition was led in the session.
func (s *Session) Worked() bool {
	for _, it := range s.Items {
		if it.Worked() {
			return true
		}
	}
	return false
}

// sides are an item's sides as logged, or as the catalogue has them for its
// stage.
func sides(it *Item, e coach.Exercise) coach.Sides {
	if it.Sides != "" {
		return it.Sides
	}
	for i, st := range e.Stages {
		if (st.ID == it.Dose.Stage || i == 0 && it.Dose.Stage == "") && len(st.Sides) > 0 {
			return st.Sides[0]
		}
	}
	return ""
}
