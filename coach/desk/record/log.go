package record

import (
	"fmt"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// Entry is a log entry as the desk keeps it, with its station's name.
type Entry struct {
	store.Entry
	StationName string
}

// read is the entry with the time the desk knows for it: its own, or the one
// derived from a contact.
func (e Entry) read() (coach.Entry, error) {
	got, err := e.Record.Entry()
	if err != nil {
		return got, fmt.Errorf("entry %d of epoch %s: %w", e.Seq, e.Epoch, err)
	}
	if got.Wall == nil && !e.At.IsZero() {
		at := e.At.UTC()
		got.Wall, got.Within = &at, e.Within
	}
	return got, nil
}

// Session is one session, with what a review leaves out.
type Session struct {
	*review.Session
	Station string                 // by name
	Made    coach.SessionStartData // the fingerprints of what it was made from
	Symptom coach.Symptom          // named after a stop; empty if none was
	Red     bool                   // the red button was pressed in it; a session also stops on an answer
	Under   int64                  // the prescription it was led under, for the caller to fill in; 0 where not known
	Visit   string                 // names the visit it is part of, for the caller to fill in; empty where not known
	spans   map[pass]span
}

// pass is one set on one side.
type pass struct {
	item, set int
	side      coach.Side
}

// span is when a set was done; zero times where no clock was trusted.
type span struct{ start, end time.Time }

// Read makes sessions of entries, in any order and of any number of persons
// and stations. Times are in the clinic's zone. The error names an entry whose
// line is none.
func Read(entries []Entry, zone *time.Location) ([]Session, *review.Log, error) {
	type key struct{ epoch, session string }
	more := map[key]*Session{}
	plain := make([]coach.Entry, 0, len(entries))
	for _, e := range entries {
		got, err := e.read()
		if err != nil {
			return nil, nil, err
		}
		plain = append(plain, got)
		if got.Session == "" {
			continue
		}
		k := key{got.Epoch, got.Session}
		if more[k] == nil {
			more[k] = &Session{Station: e.StationName, spans: map[pass]span{}}
		}
		more[k].note(got)
	}
	log := review.Read(plain, zone)
	var out []Session
	for _, s := range log.Sessions {
		one := Session{}
		if m := more[key{s.Epoch, s.ID}]; m != nil {
			one = *m
		}
		one.Session = s
		out = append(out, one)
	}
	return out, log, nil
}

// note takes from an entry what a review does not keep.
func (s *Session) note(e coach.Entry) {
	at := time.Time{}
	if e.Wall != nil {
		at = *e.Wall
	}
	p := pass{e.Item, e.Set, e.Side}
	switch d := e.Data.(type) {
	case *coach.SessionStartData:
		s.Made = *d
	case *coach.SetEndData:
		s.spans[p] = span{s.spans[p].start, at}
	case *coach.PressData:
		s.Red = s.Red || d.Button == coach.Stop
	case *coach.QuestionData:
		if d.ID == coach.QuestionSymptom {
			s.Symptom = coach.Symptom(d.Answer)
		}
	}
	if e.Kind == coach.EntrySetStart {
		s.spans[p] = span{start: at}
	}
}

// span is when a set was done.
func (s Session) span(it *review.Item, set *review.Set) span {
	return s.spans[pass{it.Number, set.Number, set.Side}]
}

// left is how a reserve reads.
func left(r coach.Reserve) string {
	switch r {
	case coach.ReserveNone:
		return "none or one left"
	case coach.ReserveFew:
		return "two to four left"
	case coach.ReserveMany:
		return "five or more left"
	}
	return "not answered"
}

// symptomWords is how a named symptom reads.
func symptomWords(s coach.Symptom) string {
	switch s {
	case coach.SymptomChest:
		return "pressure or pain in the chest, arm, jaw or back"
	case coach.SymptomBreath:
		return "more out of breath than usual"
	case coach.SymptomDizzy:
		return "dizzy or faint"
	case coach.SymptomHeart:
		return "heart racing or out of step"
	case coach.SymptomPain:
		return "pain in a joint, a muscle or the wound"
	case coach.SymptomOther:
		return "something else"
	case coach.SymptomMistake:
		return "pressed by mistake"
	}
	return string(s)
}

// outcomeWords is how a session's end reads.
func outcomeWords(o coach.Outcome) string {
	switch o {
	case coach.Completed:
		return "completed"
	case coach.FinishedEarly:
		return "ended early by the patient, with the cool-down"
	case coach.Stopped:
		return "stopped"
	case coach.Abandoned:
		return "ended because nobody answered"
	case coach.NotStarted:
		return "not started"
	}
	return "end not in the log"
}
