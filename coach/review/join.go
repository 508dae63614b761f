package review

import (
	"slices"
	"time"

	"evenbell/coach"
)

// Stay is one session as far as joining looks at it: what one person did at one
// place. The desk makes stays of its list of sessions, where it need not read
// the log.
type Stay struct {
	ID, Tag    string // of the session, and whose it is
	Part       coach.Part
	Resumes    string        // the session that the power cut off and this one goes on with
	Start, End time.Time     // zero where nobody can tell
	Within     time.Duration // how far these may be off; 0 for the station's own clock
	Outcome    coach.Outcome // empty while it goes on, and where the log does not say
	Session    *Session      // what was done; nil where only the list of sessions is known
}

// What joins and orders parts. common practice, no source: a class goes from
// place to place within minutes, and two classes of one day lie hours apart.
const (
	longestBetween = 2 * time.Hour    // from the end of one part to the next one's beginning
	clocksApart    = 15 * time.Minute // that two stations' own clocks may differ by
)

// Join puts stays together that are parts of one visit. The rules:
//
//   - A visit is of one tag. A whole session is a visit of its own, and two on
//     one day are two visits.
//   - A first part begins a visit; so does a middle or last part that has none
//     to belong to: its beginning is missing then. Every middle or last part
//     belongs to the visit before it whose end is no more than two hours
//     earlier. Midnight ends no visit: its day is the one on which it began.
//   - What ended a visit before its end (a stop, not started, abandoned, the
//     exercises ended early) means that nothing more is awaited. A part that
//     follows all the same, since staff cleared the person to go on, still
//     belongs to it, so that what happened concerns that part too.
//   - A session that goes on where the power cut another off belongs to that
//     one's visit, dated or not; so does a first part begun anew after one that
//     never came to its end.
//   - A session without a trusted time belongs to nothing else, until a contact
//     of its station dates it.
//   - The order is that of time. Where two parts begin no further apart than
//     clocks may differ, their names decide: first before middle before last.
//
// The order in which the stays are given, and in which their logs arrived, is
// of no matter. Visits come in order of time, those without one last.
func Join(stays []Stay) []Visit {
	stays = slices.Clone(stays)
	slices.SortStableFunc(stays, byTime)
	var all []*Visit
	newest := map[string]*Visit{} // dated, by tag
	with := map[string]*Visit{}   // by session
	broken := map[string]*Visit{} // that go on with a session, by that
	for _, s := range stays {
		v := with[s.Resumes]
		if v == nil {
			v = broken[s.ID]
		}
		if v != nil && v.Tag != s.Tag {
			v = nil
		}
		if v == nil && newest[s.Tag] != nil && newest[s.Tag].takes(s) {
			v = newest[s.Tag]
		}
		if v == nil {
			v = &Visit{Tag: s.Tag}
			all = append(all, v)
			if !s.Start.IsZero() {
				newest[s.Tag] = v
			}
		}
		v.Stays = append(v.Stays, s)
		if with[s.ID] = v; s.Resumes != "" {
			broken[s.Resumes] = v
		}
	}
	out := make([]Visit, len(all))
	for i, v := range all {
		v.order()
		out[i] = *v
	}
	return out
}

// byTime puts stays without a time last, in the order in which they are given.
func byTime(a, b Stay) int {
	switch {
	case a.Start.IsZero() && b.Start.IsZero():
		return 0
	case a.Start.IsZero():
		return 1
	case b.Start.IsZero():
		return -1
	}
	return a.Start.Compare(b.Start)
}

func goesOnWith(s, o Stay) bool { return s.Resumes != "" && s.Resumes == o.ID }

// takes reports whether a stay that begins no earlier than the visit belongs to
// it.
func (v *Visit) takes(s Stay) bool {
	if s.Start.IsZero() || isWhole(s.Part) || isWhole(v.Stays[0].Part) {
		return false
	}
	end, within := v.Stays[0].Start, s.Within
	for _, o := range v.Stays {
		within = max(within, s.Within+o.Within)
		for _, at := range []time.Time{o.Start, o.End} {
			if at.After(end) {
				end = at
			}
		}
	}
	if s.Start.Sub(end) > longestBetween+within {
		return false
	}
	return s.Part != coach.First || v.lacks(coach.First) && closeBy(s, v.Stays[0]) || v.begunOnly()
}

// isWhole: old logs do not say the part.
func isWhole(p coach.Part) bool { return p == coach.Whole || p == "" }

// begunOnly reports whether nothing but a first part that never came to its end
// is there.
func (v *Visit) begunOnly() bool {
	return !slices.ContainsFunc(v.Stays, func(o Stay) bool { return o.Part != coach.First || o.Outcome != "" })
}

// closeBy reports whether two stays begin no further apart than clocks differ.
func closeBy(a, b Stay) bool {
	return a.Start.Sub(b.Start).Abs() <= clocksApart+a.Within+b.Within
}

// order puts the parts in the order in which they were done. Insertion, since
// what lies within the clocks' doubt makes no strict order; there are few.
func (v *Visit) order() {
	for i := 1; i < len(v.Stays); i++ {
		for k := i; k > 0 && before(v.Stays[k], v.Stays[k-1]); k-- {
			v.Stays[k], v.Stays[k-1] = v.Stays[k-1], v.Stays[k]
		}
	}
}

// before reports whether a was done before b, which stands in front of it.
func before(a, b Stay) bool {
	switch {
	case goesOnWith(a, b):
		return false
	case goesOnWith(b, a):
		return true
	case a.Start.IsZero() || b.Start.IsZero() || closeBy(a, b):
		if rank := partRank(a.Part) - partRank(b.Part); rank != 0 {
			return rank < 0
		}
	}
	return byTime(a, b) < 0
}

func partRank(p coach.Part) int {
	return slices.Index([]coach.Part{coach.First, coach.Middle, coach.Last}, p)
}
