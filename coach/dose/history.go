package dose

import (
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/protocol"
)

// Result is how an exercise went in a session.
type Result string

// The results.
const (
	Complete Result = "complete" // every set was led to its end
	Short    Result = "short"    // a set was ended by "enough"
	Cut      Result = "cut"      // a set was lost to a stop, a fault, a power cut or a skip: counts neither way
)

// Session is what one visit showed of one exercise.
type Session struct {
	IDs        []string // the sessions of the log that count as this one
	At         time.Time
	Dose       coach.Dose
	Result     Result
	Reserve    coach.Reserve // the lowest answered; empty where none was
	Unanswered bool          // a set was led whose effort question nobody answered
	Worked     bool          // at least one repetition was led
	Observed   bool          // staff watched and noted the effort
	Doubtful   bool          // the log of it is incomplete or contradicts itself
}

// bad reports whether the session argues for less: ended by "enough", or
// none or one left.
func (s Session) bad() bool { return s.Result == Short || s.Reserve == coach.ReserveNone }

// counts reports whether the session counts one way or the other.
func (s Session) counts() bool { return s.Result != Cut }

// atLeast reports whether the session was complete with r or more left.
func (s Session) atLeast(r coach.Reserve) bool {
	if s.Result != Complete || s.Unanswered {
		return false
	}
	return s.Reserve == coach.ReserveMany || s.Reserve == r
}

// EventKind is why nothing may rise for a while.
type EventKind string

// The kinds of event.
const (
	StopEvent       EventKind = "stop"
	NotStartedEvent EventKind = "not started"
	ClosingEvent    EventKind = "closing symptom"
	NoAnswerEvent   EventKind = "no answer"
	AdmissionEvent  EventKind = "admission"
)

// Event is something that happened to a patient, in any exercise.
type Event struct {
	Kind    EventKind
	At      time.Time // the zero time where it is not known
	Session string
}

// Clearance is a named supervisor's word that what happened before At needs
// no more waiting. For an admission it is that the patient was screened again.
type Clearance struct {
	By string
	At time.Time
}

// Ceiling is the most a patient may be given; the zero value of a field sets
// no limit of its own.
type Ceiling struct {
	Load coach.Load // a dumbbell or a band; the zero Load sets none
	Reps int
	Sets int
}

// History is everything a proposal for one patient and one exercise looks at.
type History struct {
	Exercise coach.Exercise // with its stages from easier to harder
	Sides    coach.Sides
	Sessions []Session // of this exercise, in any order
	// Planned is the dose approved for the next session, where it is not the
	// one last done.
	Planned     *coach.Dose
	Events      []Event
	Clearances  []Clearance
	Precautions []coach.Precaution
	Ceiling     Ceiling
}

// merged are the sessions in order of time, those less than the protocol's
// hours after the first of their kind counted as one.
func merged(p *protocol.Protocol, all []Session) []Session {
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b Session) int { return a.At.Compare(b.At) })
	apart := p.Seconds(protocol.SessionsApart)
	var out []Session
	for _, s := range all {
		if n := len(out); n > 0 && s.At.Sub(out[n-1].At) < apart {
			out[n-1] = join(out[n-1], s)
			continue
		}
		out = append(out, s)
	}
	return out
}

// join makes one session of two: the later dose, the worse result, the lower
// reserve, and every doubt of both.
func join(a, b Session) Session {
	a.IDs = append(slices.Clone(a.IDs), b.IDs...)
	a.Dose = b.Dose
	a.Result = worse(a.Result, b.Result)
	a.Reserve = lower(a.Reserve, b.Reserve)
	a.Unanswered = a.Unanswered || b.Unanswered
	a.Worked = a.Worked || b.Worked
	a.Observed = a.Observed || b.Observed
	a.Doubtful = a.Doubtful || b.Doubtful
	return a
}

// worse is Short where either is; a session lost to a stop counts neither way,
// so the other decides.
func worse(a, b Result) Result {
	switch {
	case a == Short || b == Short:
		return Short
	case a == Complete || b == Complete:
		return Complete
	}
	return Cut
}

var reserves = []coach.Reserve{coach.ReserveNone, coach.ReserveFew, coach.ReserveMany}

// lower is the lower of two answers; an answer is lower than none.
func lower(a, b coach.Reserve) coach.Reserve {
	for _, r := range reserves {
		if a == r || b == r {
			return r
		}
	}
	return ""
}

// compareDoses is positive where a asks for more than b: a harder stage, else
// a heavier load, else more sets, else more repetitions.
func compareDoses(stages []coach.Stage, a, b coach.Dose) int {
	if c := stageIndex(stages, a.Stage) - stageIndex(stages, b.Stage); c != 0 {
		return c
	}
	if c := compareLoads(a.Load, b.Load); c != 0 {
		return c
	}
	if c := a.Sets - b.Sets; c != 0 {
		return c
	}
	return a.Reps - b.Reps
}

// stageIndex is a stage's place from easier to harder; the empty stage is the
// first, and an unknown one counts as it too.
func stageIndex(stages []coach.Stage, id string) int {
	return max(slices.IndexFunc(stages, func(s coach.Stage) bool { return s.ID == id }), 0)
}
