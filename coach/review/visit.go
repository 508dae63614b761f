package review

import (
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"
)

// Visit is what one person did in one go: a whole session, or the parts of one
// that was led at several places, each with a log of its own. There is at least
// one stay.
type Visit struct {
	Tag     string
	Stays   []Stay // in the order in which they were done
	Awaited Awaiting
}

// Awaiting is what the log's caller knows of the parts of a visit that are not
// here, by the plans of its day.
type Awaiting struct {
	Places []string // whose part is not here yet
	All    bool     // the plans tell of all its places, so that nothing else is missing
}

// Visits are the log's sessions, joined.
func (l *Log) Visits() []Visit {
	stays := make([]Stay, len(l.Sessions))
	for i, s := range l.Sessions {
		stays[i] = Stay{ID: s.ID, Tag: s.Tag, Part: s.Part, Resumes: s.Resumes, Start: s.Start, End: s.End, Within: s.Within, Outcome: s.Outcome, Session: s}
	}
	out := Join(stays)
	for i := range out {
		out[i].Awaited = l.Awaited[out[i].ID()]
	}
	return out
}

// ID names the visit: the id of its first session. It changes where an earlier
// part comes in late; any of its sessions leads to it.
func (v Visit) ID() string { return v.Stays[0].ID }

// Has reports whether a session is one of the visit's.
func (v Visit) Has(session string) bool {
	return slices.ContainsFunc(v.Stays, func(s Stay) bool { return s.ID == session })
}

// Joined reports whether the visit is of parts, or of several sessions.
func (v Visit) Joined() bool { return len(v.Stays) > 1 || !isWhole(v.Stays[0].Part) }

// Start is when the earliest part began, by its station's clock; zero where
// nobody can tell.
func (v Visit) Start() time.Time {
	var at time.Time
	for _, s := range v.Stays {
		if !s.Start.IsZero() && (at.IsZero() || s.Start.Before(at)) {
			at = s.Start
		}
	}
	return at
}

// End is when the part that went on longest ended; zero where nobody can tell.
func (v Visit) End() time.Time {
	var at time.Time
	for _, s := range v.Stays {
		if s.End.After(at) {
			at = s.End
		}
	}
	return at
}

// Day is the day on which the visit began, in the zone its times are in; empty
// where no clock was trusted.
func (v Visit) Day() coach.Day {
	at := v.Start()
	if at.IsZero() {
		return ""
	}
	return coach.DayOf(at)
}

// Missing are the parts that the log does not have: the first, and the last
// where nothing ended the visit before it; none where the plans of the day say
// so. How many places lie between the log does not tell ([Visit.Awaited] may),
// nor what belongs to a part without a trusted time.
func (v Visit) Missing() []coach.Part {
	if isWhole(v.Stays[0].Part) || v.Start().IsZero() || v.Awaited.All && len(v.Awaited.Places) == 0 {
		return nil
	}
	var out []coach.Part
	if v.lacks(coach.First) {
		out = append(out, coach.First)
	}
	if v.lacks(coach.Last) && !v.cutShort() {
		out = append(out, coach.Last)
	}
	return out
}

// Awaits reports whether more of the visit may be done, or to come in, at other
// places.
func (v Visit) Awaits() bool {
	return !isWhole(v.Stays[0].Part) && !v.Start().IsZero() && !v.cutShort()
}

// Whole reports whether everything of the visit is here, as far as anybody can
// tell.
func (v Visit) Whole() bool { return len(v.Missing()) == 0 && len(v.Awaited.Places) == 0 }

// WentNoFurther reports whether the person left between two places: the plans
// of the day have no other part, and nobody asked at the end how it was.
func (v Visit) WentNoFurther() bool {
	return v.Awaits() && v.Awaited.All && len(v.Awaited.Places) == 0 && v.lacks(coach.Last)
}

func (v Visit) lacks(p coach.Part) bool {
	return !slices.ContainsFunc(v.Stays, func(s Stay) bool { return s.Part == p })
}

// cutShort reports whether something ended the visit before its end, so that
// nothing more is awaited.
func (v Visit) cutShort() bool {
	return slices.ContainsFunc(v.Stays, func(s Stay) bool { return s.Outcome != "" && s.Outcome != coach.Completed })
}

// Over reports whether nothing more is awaited of the person: the last part has
// ended, or something ended the visit before it.
func (v Visit) Over() bool {
	last := v.Stays[len(v.Stays)-1]
	return v.cutShort() || last.Outcome != "" && (last.Part == coach.Last || isWhole(last.Part))
}

// Outcome is how the visit ended: by the worst that ended one of its parts.
// Where somebody had exercised and was not well at a later place, the visit was
// stopped there. It is empty while it is not over, and where the log does not
// say.
func (v Visit) Outcome() coach.Outcome {
	o, _ := v.ended()
	return o
}

// Decided is the stay that decided the outcome; the last where that is empty.
func (v Visit) Decided() Stay {
	_, i := v.ended()
	return v.Stays[i]
}

func (v Visit) ended() (coach.Outcome, int) {
	where := func(o coach.Outcome) int {
		return slices.IndexFunc(v.Stays, func(s Stay) bool { return s.Outcome == o })
	}
	for _, o := range []coach.Outcome{coach.Stopped, coach.NotStarted, coach.Abandoned, coach.FinishedEarly} {
		i := where(o)
		switch {
		case i < 0:
			continue
		case o == coach.NotStarted && v.Began():
			return coach.Stopped, i
		}
		return o, i
	}
	last := len(v.Stays) - 1
	if !v.Over() {
		return "", last
	}
	return coach.Completed, last
}

// Began reports whether the person was well enough to begin at any place.
func (v Visit) Began() bool {
	return slices.ContainsFunc(v.Stays, func(s Stay) bool { return s.Outcome != coach.NotStarted })
}

// Unended are the stays that never came to their end, though the person went on
// at another place: the power went, or the end of the log is missing.
func (v Visit) Unended() []Stay {
	var out []Stay
	for i, s := range v.Stays[:len(v.Stays)-1] {
		gone := slices.ContainsFunc(v.Stays[i+1:], func(o Stay) bool { return goesOnWith(o, s) })
		if s.Outcome == "" && !gone {
			out = append(out, s)
		}
	}
	return out
}

// Break is the rest between two places.
type Break struct {
	From, To Stay
	// Rest is from the end of the last set at one place to the first set at the
	// next. Below zero, the clocks of the two stations differ by more than that.
	Rest time.Duration
	// Within is how far that may be off, as far as it is known: stations that
	// trust their own clocks do not know how far these are off.
	Within time.Duration
}

// Breaks are the rests between the places of the visit, where sets at both have
// a time.
func (v Visit) Breaks() []Break {
	var out []Break
	last := -1
	for i, s := range v.Stays {
		if s.Session == nil || s.Start.IsZero() || s.Session.SetSpan.To == 0 {
			continue
		}
		if last >= 0 {
			from := v.Stays[last]
			out = append(out, Break{From: from, To: s, Within: from.Within + s.Within,
				Rest: s.Start.Add(s.Session.SetSpan.From).Sub(from.Start.Add(from.Session.SetSpan.To))})
		}
		last = i
	}
	return out
}

// sessions are what was done, in order. What follows is of visits of a log.
func (v Visit) sessions() []*Session {
	var out []*Session
	for _, s := range v.Stays {
		if s.Session != nil {
			out = append(out, s.Session)
		}
	}
	return out
}

func (v Visit) any(is func(*Session) bool) bool { return slices.ContainsFunc(v.sessions(), is) }

// Worked reports whether at least one repetition was led.
func (v Visit) Worked() bool { return v.any((*Session).Worked) }

// Doubtful reports whether the log of any part can't be trusted.
func (v Visit) Doubtful() bool { return v.any(func(s *Session) bool { return s.Doubtful }) }

// WarmedUp reports whether the warm-up was led to its end at any place.
func (v Visit) WarmedUp() bool { return v.any(func(s *Session) bool { return s.WarmedUp }) }

// CooledDown reports whether the cool-down was led to its end at any place.
func (v Visit) CooledDown() bool { return v.any(func(s *Session) bool { return s.CooledDown }) }

// Items are the exercises of all parts, in order.
func (v Visit) Items() []*Item {
	var out []*Item
	for _, s := range v.sessions() {
		out = append(out, s.Items...)
	}
	return out
}

// Events are what happened at any place, in order.
func (v Visit) Events() []dose.Event {
	var out []dose.Event
	for _, s := range v.sessions() {
		out = append(out, s.Events...)
	}
	return out
}

// Marks are what is wrong with the logs of its parts, each once.
func (v Visit) Marks() []Mark {
	var out []Mark
	for _, s := range v.sessions() {
		for _, m := range s.Marks {
			if !slices.Contains(out, m) {
				out = append(out, m)
			}
		}
	}
	return out
}

// Reserve is the lowest answer to the effort question; empty where none was
// given.
func (v Visit) Reserve() coach.Reserve {
	var r coach.Reserve
	for _, it := range v.Items() {
		r = lower(r, it.Reserve)
	}
	return r
}

// Pace is the share of repetitions that kept the pace, over all places; false
// where no taps tell.
func (v Visit) Pace(p *protocol.Protocol) (float64, bool) { return paceOf(v.Items(), p) }
