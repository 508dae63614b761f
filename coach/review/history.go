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
	for _, s := range l.Sessions {
		h.Events = append(h.Events, s.Events...)
		for _, it := range s.Items {
			if it.Exercise != e.ID || !it.known {
				continue
			}
			h.Sides = sides(it, e)
			h.Sessions = append(h.Sessions, it.session(s, latest))
		}
		if s.Doubtful && !s.mentions(e.ID) {
			// What is missing may be about this exercise.
			h.Sessions = append(h.Sessions, unknown(s, latest))
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

// session is an item as the dose rules see it. Without a trusted time it comes
// last and is doubtful.
func (it *Item) session(s *Session, latest time.Time) dose.Session {
	out := dose.Session{IDs: []string{s.ID}, At: s.Start, Dose: it.Dose, Result: it.Result, Reserve: it.Reserve,
		Unanswered: it.Unanswered, Worked: it.Worked(), Doubtful: s.Doubtful}
	if s.Start.IsZero() {
		out.At, out.Doubtful = latest, true
		if out.Result == dose.Complete {
			out.Result = dose.Cut
		}
	}
	return out
}

// unknown is a doubtful session of which nobody can say whether the exercise
// was in it.
func unknown(s *Session, latest time.Time) dose.Session {
	at := s.Start
	if at.IsZero() {
		at = latest
	}
	return dose.Session{IDs: []string{s.ID}, At: at, Result: dose.Cut, Doubtful: true}
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

func (s *Session) mentions(exercise string) bool {
	for _, it := range s.Items {
		if it.Exercise == exercise && it.known {
			return true
		}
	}
	return false
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
