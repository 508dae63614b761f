package review

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
)

// sessions adds the sessions of one chain.
func (d *Digest) sessions(c chain) {
	type key struct{ id, tag string }
	place := map[key]int{}
	var parts [][]*coach.Entry
	for _, e := range c.entries {
		if e.Session == "" || ofEarlier(e) {
			continue
		}
		k := key{e.Session, e.Tag}
		at, ok := place[k]
		if !ok {
			at = len(parts)
			place[k] = at
			parts = append(parts, nil)
		}
		parts[at] = append(parts[at], e)
	}
	here := make(map[int64]bool, len(c.entries))
	for _, e := range c.entries {
		here[e.Seq] = true
	}
	for _, entries := range parts {
		s := readSession(entries, here)
		if c.torn {
			s.doubt("one number of its epoch stands for two different entries")
		}
		d.Sessions = append(d.Sessions, s)
	}
}

// ofEarlier reports whether an entry only names a session of an earlier epoch.
func ofEarlier(e *coach.Entry) bool {
	d, ok := e.Data.(*coach.FaultData)
	return ok && d.Earlier()
}

// readSession reads one session's entries, in order of number; here are all
// numbers of its epoch that the log has.
func readSession(entries []*coach.Entry, here map[int64]bool) *Session {
	first, last := entries[0], entries[len(entries)-1]
	s := &Session{ID: first.Session, Epoch: first.Epoch, Tag: first.Tag, Last: last.Seq}
	s.checkNumbers(entries, here)
	s.date(entries)
	r := &reading{s: s}
	for _, e := range entries {
		r.entry(e)
	}
	r.closePause(last.Sample)
	for _, it := range s.Items {
		it.settle(s)
	}
	return s
}

// checkNumbers doubts a session with entries missing, or whose samples run
// backwards. What the station logged in between that is of no session, such as
// a hold on somebody else, is not missing.
func (s *Session) checkNumbers(entries []*coach.Entry, here map[int64]bool) {
	if entries[0].Kind != coach.EntrySessionStart {
		s.doubt("its beginning is missing")
	}
	missing := int64(0)
	for i := 1; i < len(entries); i++ {
		a, b := entries[i-1], entries[i]
		missing += absent(a.Seq, b.Seq, here)
		if b.Sample < a.Sample && b.Kind != coach.EntryRelease {
			s.doubt("its times run backwards")
		}
		if b.Kind == coach.EntrySessionStart {
			s.doubt("it begins twice")
		}
	}
	if missing > 0 {
		if missing == 1 {
			s.doubt("1 entry is missing")
		} else {
			s.doubt("%d entries are missing", missing)
		}
	}
}

// absent counts the numbers between two that the log does not have.
func absent(a, b int64, here map[int64]bool) int64 {
	n := max(b-a-1, 0)
	if n > int64(len(here)) {
		return n - int64(len(here)) // at least: nobody counts them one by one
	}
	for seq := a + 1; seq < b; seq++ {
		if here[seq] {
			n--
		}
	}
	return n
}

// checkEnd doubts a session without an end, unless the next epoch knows that
// its last entry was the last of all: then the power went.
func (s *Session) checkEnd(ends map[string]int64) {
	switch known, ok := ends[s.Epoch]; {
	case s.Outcome != "":
	case ok && known == s.Last:
		s.mark("cut off by a restart of the station")
	default:
		s.doubt("its end is missing")
	}
}

// date takes the time of the first sample from the first entry that knows one.
func (s *Session) date(entries []*coach.Entry) {
	for _, e := range entries {
		if e.Wall != nil && e.Kind != coach.EntryRelease {
			s.Start = e.Wall.Add(-seconds(e.Sample)).UTC()
			if e.Kind == coach.EntrySessionStart {
				s.Start = e.Wall.UTC()
			}
			break
		}
	}
	if s.Start.IsZero() {
		s.mark("no trusted time")
		return
	}
	s.End = s.Start
	for _, e := range entries {
		if e.Wall == nil || e.Kind == coach.EntryRelease {
			continue
		}
		s.Within = max(s.Within, e.Within)
		if e.Wall.After(s.End) {
			s.End = e.Wall.UTC()
		}
	}
}

// seconds is a length on the sample clock as a time.
func seconds(n coach.Samples) time.Duration { return coach.SessionRate.Duration(n) }

// reading is how far a session has been read.
type reading struct {
	s      *Session
	item   *Item
	set    *Set
	from   coach.Samples // where the set began
	reps   []rep         // of the set
	paused coach.Samples // where the pause began
	inHold bool
}

func (r *reading) entry(e *coach.Entry) {
	switch e.Kind {
	case coach.EntrySessionStart:
		if d, ok := e.Data.(*coach.SessionStartData); ok {
			r.s.Part, r.s.Speed, r.s.Resumes = d.Part, d.Speed, d.Resumes
		}
	case coach.EntryQuestion:
		r.question(e)
	case coach.EntryNoAnswer:
		r.event(dose.NoAnswerEvent, e)
	case coach.EntryStop:
		r.event(dose.StopEvent, e)
	case coach.EntrySessionEnd:
		r.end(e)
	case coach.EntryFault:
		if d, ok := e.Data.(*coach.FaultData); ok {
			r.s.Faults = append(r.s.Faults, *d)
		}
	case coach.EntryWarmUpEnd:
		r.s.WarmedUp = true
	case coach.EntryCoolDownEnd:
		r.s.CooledDown = true
	case coach.EntryPause:
		r.s.Pauses++
		r.paused, r.inHold = e.Sample, true
	case coach.EntryResume:
		r.closePause(e.Sample)
	default:
		r.work(e)
	}
}

func (r *reading) closePause(at coach.Samples) {
	if r.inHold {
		r.s.Paused += seconds(at - r.paused)
		r.inHold = false
	}
}

// event notes what keeps doses from rising, once a session for each kind.
func (r *reading) event(k dose.EventKind, e *coach.Entry) {
	ev := dose.Event{Kind: k, Session: r.s.ID}
	if e.Wall != nil {
		ev.At = e.Wall.UTC()
	} else if !r.s.Start.IsZero() {
		ev.At = r.s.Start.Add(seconds(e.Sample))
	}
	r.s.Events = append(r.s.Events, ev)
}

func (r *reading) question(e *coach.Entry) {
	d, ok := e.Data.(*coach.QuestionData)
	if !ok {
		r.s.doubt("a question's answer is missing")
		return
	}
	r.s.Questions = append(r.s.Questions, *d)
	if d.ID == coach.QuestionClosing && d.Answer != coach.AnswerWell {
		r.event(dose.ClosingEvent, e)
	}
}

func (r *reading) end(e *coach.Entry) {
	d, ok := e.Data.(*coach.SessionEndData)
	if !ok || r.s.Outcome != "" && r.s.Outcome != d.Outcome {
		r.s.doubt("it does not say one way how it ended")
		return
	}
	r.s.Outcome = d.Outcome
	switch {
	case d.Outcome == coach.NotStarted:
		r.event(dose.NotStartedEvent, e)
	case d.Outcome == coach.Abandoned && !r.s.has(dose.NoAnswerEvent):
		r.event(dose.NoAnswerEvent, e)
	case d.Outcome == coach.Stopped && !r.s.has(dose.StopEvent):
		r.event(dose.StopEvent, e)
	}
}

func (s *Session) has(k dose.EventKind) bool {
	for _, e := range s.Events {
		if e.Kind == k {
			return true
		}
	}
	return false
}
