package review

import (
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
)

// Mark says what is wrong with a log or a session, in plain words.
type Mark string

// Log is what the entries given come to.
type Log struct {
	Sessions []*Session // in order of time, those without a time last
	Releases []Release
	Marks    []Mark
	// Awaited is, by visit, what the caller knows of the parts that are not here.
	Awaited map[string]Awaiting
	zone    *time.Location
}

// Session is one session of one person on one station.
type Session struct {
	ID, Epoch, Tag string
	Last           int64         // the number of its last entry in the epoch
	Start, End     time.Time     // in the clinic's zone; zero where no clock was trusted
	Within         time.Duration // how far these may be off; 0 for the station's own clock
	Part           coach.Part
	Resumes        string        // the session that the power cut off and this one goes on with
	Speed          string        // "1" for a person
	Outcome        coach.Outcome // empty where the log does not say
	Items          []*Item
	SetSpan        Span // from the beginning of the first set to the end of the last
	Events         []dose.Event
	Questions      []coach.QuestionData
	Faults         []coach.FaultData
	Pauses         int
	Paused         time.Duration
	WarmedUp       bool // the guided warm-up was led to its end
	CooledDown     bool
	Doubtful       bool
	Marks          []Mark
}

// Span is a stretch of a session, from its start; zero where there was none.
type Span struct{ From, To time.Duration }

// Day is the clinic's day on which the session began; empty where no clock was trusted.
func (s *Session) Day() coach.Day {
	if s.Start.IsZero() {
		return ""
	}
	return coach.DayOf(s.Start)
}

// doubt marks the session as one that cannot be trusted.
func (s *Session) doubt(format string, args ...any) {
	s.Doubtful = true
	s.mark(format, args...)
}

func (s *Session) mark(format string, args ...any) {
	if m := Mark(fmt.Sprintf(format, args...)); !slices.Contains(s.Marks, m) {
		s.Marks = append(s.Marks, m)
	}
}

// Read makes a log of entries, which may come in any order and be of several
// persons and stations. Times, and so days, are in the clinic's zone; nil is
// UTC. The entries are not changed.
func Read(entries []coach.Entry, zone *time.Location) *Log {
	return LogOf(zone, DigestOf(entries))
}

// Of is the part of the log that is about one person.
func (l *Log) Of(tag string) *Log {
	out := &Log{Marks: l.Marks, Awaited: l.Awaited, zone: l.zone}
	for _, s := range l.Sessions {
		if s.Tag == tag {
			out.Sessions = append(out.Sessions, s)
		}
	}
	for _, r := range l.Releases {
		if r.Tag == tag {
			out.Releases = append(out.Releases, r)
		}
	}
	return out
}

// demote takes what a doubtful session says was complete as not known.
func (s *Session) demote() {
	for _, it := range s.Items {
		if s.Doubtful && it.Result == dose.Complete {
			it.Result = dose.Cut
		}
	}
}

// Tags are the persons in the log, in alphabetical order.
func (l *Log) Tags() []string {
	var out []string
	for _, s := range l.Sessions {
		out = append(out, s.Tag)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

const overlapping = "overlaps another session of the same person: a clock is wrong, or somebody else used the tag"

// overlaps doubts sessions of one person that ran at the same time, but for a
// minute that two stations' clocks may differ by, and for what is known to be
// uncertain. More is doubted between the parts of one visit, too.
func (l *Log) overlaps() {
	byTag := map[string][]*Session{}
	for _, s := range l.Sessions {
		if !s.Start.IsZero() {
			byTag[s.Tag] = append(byTag[s.Tag], s)
		}
	}
	for _, all := range byTag {
		slices.SortStableFunc(all, func(a, b *Session) int { return a.Start.Compare(b.Start) })
		var longest *Session // of those before, the one that ended last
		for _, s := range all {
			if longest != nil && s.Start.Before(longest.End.Add(-time.Minute-longest.Within-s.Within)) {
				s.doubt(overlapping)
				longest.doubt(overlapping)
			}
			if longest == nil || s.End.After(longest.End) {
				longest = s
			}
		}
	}
}
