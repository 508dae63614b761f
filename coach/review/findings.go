package review

import (
	"cmp"
	"fmt"
	"slices"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"
)

// Finding is something worth a supervisor's look.
type Finding struct {
	Rank     int // 1 first
	Day      coach.Day
	Session  string // empty where it is about no one session
	Exercise string // empty where it is about no one exercise
	Reason   string
}

// The ranks: what may be about the heart, then what can't be trusted, then
// what was too much, then how it was done, then attendance.
const (
	rankSymptom = 1 + iota
	rankDoubt
	rankTooMuch
	rankManner
	rankAttendance
)

// Findings are what of one person's log, from day from to day to, is worth a
// look, the most pressing first and the newest first within a rank.
func (l *Log) Findings(p *protocol.Protocol, from, to coach.Day) []Finding {
	var out []Finding
	for _, m := range l.Marks {
		out = append(out, Finding{Rank: rankDoubt, Reason: string(m)})
	}
	for _, v := range l.Visits() {
		d := v.Day()
		if d != "" && (d < from || d > to) {
			continue
		}
		for _, s := range v.sessions() {
			out = append(out, s.findings(p)...)
		}
		if d < to { // one of today may still be going on
			out = append(out, v.findings()...)
		}
	}
	out = append(out, l.attendance(p, to)...)
	Sort(out)
	return out
}

// Sort puts findings in their order: the most pressing first, the newest first
// within a rank.
func Sort(fs []Finding) {
	slices.SortStableFunc(fs, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(a.Rank, b.Rank), cmp.Compare(b.Day, a.Day))
	})
}

// TooSoon finds, of one person's log from day from to day to, sessions with work
// in them before the days of rest between two had passed. Several on one day
// count as one: what the power cut off may be gone on with.
func (l *Log) TooSoon(between int, from, to coach.Day) []Finding {
	var out []Finding
	var before coach.Day
	for _, s := range l.Sessions {
		d := s.Day()
		if d == "" || !s.Worked() {
			continue
		}
		if rested := before.DaysUntil(d) - 1; before != "" && before != d && rested < between && d >= from && d <= to {
			out = append(out, Finding{rankTooMuch, d, s.ID, "", fmt.Sprintf("days of rest since the session before: %d; %d were planned", rested, between)})
		}
		before = d
	}
	return out
}

func (s *Session) findings(p *protocol.Protocol) []Finding {
	var out []Finding
	add := func(rank int, exercise, format string, args ...any) {
		out = append(out, Finding{rank, s.Day(), s.ID, exercise, fmt.Sprintf(format, args...)})
	}
	for _, e := range s.Events {
		add(rankSymptom, "", "%s%s", e.Kind, s.felt(e.Kind))
	}
	for _, m := range s.Marks {
		add(rankDoubt, "", "log: %s", m)
	}
	for _, f := range s.Faults {
		add(rankManner, "", "fault of the station: %s, %s", f.Part, f.Detail)
	}
	if s.Outcome == coach.FinishedEarly {
		add(rankTooMuch, "", "the exercises were ended early")
	}
	for _, it := range s.Items {
		switch {
		case it.Result == dose.Short:
			add(rankTooMuch, it.Exercise, "a set was ended early by the person")
		case it.Reserve == coach.ReserveNone:
			add(rankTooMuch, it.Exercise, "none or one repetition was left")
		case it.Unanswered:
			add(rankManner, it.Exercise, "the effort question went unanswered")
		case it.Skipped:
			add(rankManner, it.Exercise, "left out")
		}
		if got, of := it.kept(p); of > 0 && float64(got)*100 < p.Number(protocol.PaceKeptLeast)*float64(of) {
			add(rankManner, it.Exercise, "%d of %d repetitions kept the pace; limit %s", got, of, p.Allowed(protocol.PaceKeptLeast))
		}
	}
	if n := s.shortRests(p); n > 0 {
		add(rankManner, "", "%d rests were under %s", n, p.Allowed(protocol.RestFloor))
	}
	return out
}

// findings are those of a visit beside its sessions' own.
func (v Visit) findings() []Finding {
	var out []Finding
	for _, what := range v.NotHere() {
		out = append(out, Finding{Rank: rankDoubt, Day: v.Day(), Session: v.ID(), Reason: what})
	}
	if v.WentNoFurther() {
		out = append(out, Finding{Rank: rankManner, Day: v.Day(), Session: v.Stays[len(v.Stays)-1].ID, Reason: "went no further than this place, and nobody asked how it was"})
	}
	return out
}

// NotHere says which parts are not here yet, in plain words, by place where the
// place is known.
func (v Visit) NotHere() []string {
	var out []string
	for _, at := range v.Awaited.Places {
		out = append(out, "the part at "+at+" is not here yet")
	}
	if missing := v.Missing(); len(v.Awaited.Places) < len(missing) {
		for _, p := range missing {
			out = append(out, "the "+string(p)+" part is not here yet")
		}
	}
	return out
}

// felt is what was said to be felt after a stop.
func (s *Session) felt(k dose.EventKind) string {
	for _, q := range s.Questions {
		if k == dose.StopEvent && q.ID == coach.QuestionSymptom {
			return ", felt: " + q.Answer
		}
		if k == dose.NotStartedEvent && q.Unwell() {
			return ", asked: " + q.ID
		}
	}
	return ""
}

// kept counts the repetitions that kept the pace, of those that can be judged:
// pairs of tapped repetitions that follow each other.
func (it *Item) kept(p *protocol.Protocol) (got, of int) {
	for _, s := range it.Sets {
		got += s.Pace.Kept(p.Number(protocol.PaceTolerance))
		of += s.Pace.Pairs
	}
	return got, of
}

// Pace is the share of repetitions that kept the pace within the protocol's
// tolerance; false where no taps tell.
func (s *Session) Pace(p *protocol.Protocol) (float64, bool) { return paceOf(s.Items, p) }

func paceOf(items []*Item, p *protocol.Protocol) (float64, bool) {
	got, of := 0, 0
	for _, it := range items {
		g, o := it.kept(p)
		got, of = got+g, of+o
	}
	if of == 0 {
		return 0, false
	}
	return float64(got) / float64(of), true
}

// shortRests counts logged rests under the floor.
func (s *Session) shortRests(p *protocol.Protocol) int {
	n := 0
	for _, it := range s.Items {
		for _, set := range it.Sets {
			if set.Rest > 0 && set.Rest < p.Seconds(protocol.RestFloor) {
				n++
			}
		}
	}
	return n
}

// attendance looks back over the protocol's weeks before to, as far as the log
// goes back; nobody misses what came before their first session.
func (l *Log) attendance(p *protocol.Protocol, to coach.Day) []Finding {
	from := monday(to).AddDays(-7 * p.Int(protocol.AdherenceWeeks))
	begun := slices.IndexFunc(l.Sessions, func(s *Session) bool { return s.Day() != "" })
	if begun < 0 {
		return nil
	}
	if d := l.Sessions[begun].Day(); d > from {
		from = monday(d.AddDays(6)) // the first whole week
	}
	last := monday(to).AddDays(-1) // the week of to is not over
	if from > last {
		return nil
	}
	share := Share(l.Weeks(from, last, p.Int(protocol.SessionsWeekLeast)))
	if share*100 >= p.Number(protocol.AdherenceLeast) {
		return nil
	}
	return []Finding{{Rank: rankAttendance, Day: to, Reason: fmt.Sprintf("%.0f %% of the prescribed sessions since %s; limit %s",
		share*100, from, p.Allowed(protocol.AdherenceLeast))}}
}
