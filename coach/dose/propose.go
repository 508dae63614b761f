package dose

import (
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/protocol"
)

// Propose says what to do next with one exercise of one patient, on today. The
// sessions must hold at least one; the error says so where they do not.
func Propose(p *protocol.Protocol, o Owned, h History, today coach.Day) (Proposal, error) {
	sessions := merged(p, h.Sessions)
	if len(sessions) == 0 {
		return Proposal{}, fmt.Errorf("nothing was done of %s yet; a first dose is chosen from a trial set", h.Exercise.ID)
	}
	c := newCase(p, o, h, sessions, today)
	for _, rule := range rules {
		out, fits := rule(c)
		if !fits {
			continue
		}
		out.Exercise, out.From = h.Exercise.ID, c.dose
		if out.To == (coach.Dose{}) {
			out.To = c.dose
		}
		return c.overlong(c.capped(out)), nil
	}
	panic("the last rule always fits")
}

// rules in the order they are tried; the first that fits decides.
var rules = []func(*patientCase) (Proposal, bool){
	symptom, afterSymptom, longGap, gap, revert, short, shortOnce, early,
	unsure, barred, ready, bigStep, moreSets, stage, stuck, build, steady,
}

// patientCase is what the rules look at.
type patientCase struct {
	p        *protocol.Protocol
	owned    Owned // no more than the ceilings allow
	h        History
	today    coach.Day
	dose     coach.Dose // approved for the next session
	sessions []Session  // all, merged
	counted  []Session  // those that count one way or the other
	run      []Session  // the newest of these, at one dose
	untried  bool       // the dose was changed since the last session
}

func newCase(p *protocol.Protocol, o Owned, h History, sessions []Session, today coach.Day) *patientCase {
	c := &patientCase{p: p, owned: within(p, o, h.Ceiling), h: h, today: today, sessions: sessions}
	c.dose = sessions[len(sessions)-1].Dose
	if h.Planned != nil && *h.Planned != c.dose {
		c.dose, c.untried = *h.Planned, true
	}
	for _, s := range sessions {
		if s.counts() {
			c.counted = append(c.counted, s)
		}
	}
	for i := len(c.counted) - 1; i >= 0 && c.counted[i].Dose == c.dose; i-- {
		c.run = c.counted[i:]
	}
	return c
}

// last are the newest n sessions that count, fewer where there are fewer.
func (c *patientCase) last(n int) []Session {
	return c.counted[max(0, len(c.counted)-n):]
}

// alike are the sessions that must agree before a dose changes; nil where
// there are not enough at this dose.
func (c *patientCase) alike() []Session {
	n := c.p.Int(protocol.SessionsAlike)
	if c.untried || len(c.run) < n {
		return nil
	}
	return c.last(n)
}

// all reports whether every session was complete with r or more left.
func all(sessions []Session, r coach.Reserve) bool {
	for _, s := range sessions {
		if !s.atLeast(r) {
			return false
		}
	}
	return len(sessions) > 0
}

// symptom: nothing changes until a supervisor has cleared what happened.
func symptom(c *patientCase) (Proposal, bool) {
	for _, e := range c.h.Events {
		if e.Kind != AdmissionEvent && c.clearedAt(e).IsZero() {
			return Proposal{Action: Hold, Rule: RuleSymptom, Sessions: c.last(1),
				Reasons: []string{fmt.Sprintf("%s%s is not cleared by a supervisor yet", e.Kind, on(e.At))},
				Finding: "a symptom, stop or unanswered question waits for a supervisor"}, true
		}
	}
	return Proposal{}, false
}

// clearedAt is when a supervisor cleared e; the zero time where nobody did. An
// event whose time is not known can't be told to lie before anything.
func (c *patientCase) clearedAt(e Event) time.Time {
	var at time.Time
	for _, clear := range c.h.Clearances {
		if !e.At.IsZero() && !clear.At.Before(e.At) && (at.IsZero() || clear.At.Before(at)) {
			at = clear.At
		}
	}
	return at
}

// afterSymptom: a few quiet sessions come before anything rises again.
func afterSymptom(c *patientCase) (Proposal, bool) {
	var cleared time.Time
	for _, e := range c.h.Events {
		if at := c.clearedAt(e); e.Kind != AdmissionEvent && at.After(cleared) {
			cleared = at
		}
	}
	if cleared.IsZero() {
		return Proposal{}, false
	}
	var since []Session
	for _, s := range c.counted {
		if s.At.After(cleared) && s.Result == Complete && !s.Doubtful {
			since = append(since, s)
		}
	}
	want := c.p.Int(protocol.ClearSessions)
	if len(since) >= want {
		return Proposal{}, false
	}
	return Proposal{Action: Hold, Rule: RuleAfterSymptom, Sessions: since, Reasons: []string{
		fmt.Sprintf("%s since a symptom was cleared%s; wanted: %s", complete(len(since)), on(cleared), c.p.Allowed(protocol.ClearSessions))}}, true
}

// longGap: after weeks away, or a stay in hospital, screen again.
func longGap(c *patientCase) (Proposal, bool) {
	again := "screen again before the next session"
	for _, e := range c.h.Events {
		if e.Kind == AdmissionEvent && c.clearedAt(e).IsZero() {
			return Proposal{Action: Hold, Rule: RuleLongGap, Sessions: c.last(1), Finding: again,
				Reasons: []string{fmt.Sprintf("a stay in hospital%s; %s", on(e.At), again)}}, true
		}
	}
	days, last := c.away()
	switch {
	case last.At.IsZero():
		return Proposal{Action: Hold, Rule: RuleLongGap, Sessions: []Session{last}, Finding: again,
			Reasons: []string{"nobody knows when the last session was; " + again}}, true
	case days < c.p.Int(protocol.LongGapDays):
		return Proposal{}, false
	}
	return Proposal{Action: Hold, Rule: RuleLongGap, Sessions: []Session{last}, Finding: again,
		Reasons: []string{fmt.Sprintf("%d days since the last session, limit %s; %s", days, c.p.Allowed(protocol.LongGapDays), again)}}, true
}

// away is how many days ago the exercise was last worked, and when.
func (c *patientCase) away() (int, Session) {
	for i := len(c.sessions) - 1; i >= 0; i-- {
		if s := c.sessions[i]; s.Worked || i == 0 {
			return coach.DayOf(s.At).DaysUntil(c.today), s
		}
	}
	return 0, Session{}
}

// gap: less after two weeks away, once; a lower dose approved since the last
// session shows that it was done.
func gap(c *patientCase) (Proposal, bool) {
	days, last := c.away()
	usual := c.usualInterval()
	long := days >= c.p.Int(protocol.GapDays) && float64(days) > c.p.Number(protocol.GapFactor)*usual
	if !long || c.untried && compareDoses(c.h.Exercise.Stages, c.dose, last.Dose) < 0 {
		return Proposal{}, false
	}
	why := fmt.Sprintf("%d days since the last session, usually %.1f; limit %s", days, usual, c.p.Allowed(protocol.GapDays))
	return c.down(RuleGap, why, []Session{last}), true
}

// usualInterval is the median of the days between sessions, or what the
// protocol prescribes where there are too few.
func (c *patientCase) usualInterval() float64 {
	var days []float64
	for i := 1; i < len(c.sessions); i++ {
		days = append(days, c.sessions[i].At.Sub(c.sessions[i-1].At).Hours()/24)
	}
	if len(days) == 0 {
		return 7 / c.p.Number(protocol.SessionsWeekLeast)
	}
	slices.Sort(days)
	return (days[(len(days)-1)/2] + days[len(days)/2]) / 2
}

// revert: a step up that was too much is taken back.
func revert(c *patientCase) (Proposal, bool) {
	if c.untried || len(c.run) != 1 || len(c.counted) < 2 || !c.run[0].bad() {
		return Proposal{}, false
	}
	before := c.counted[len(c.counted)-2].Dose
	if compareDoses(c.h.Exercise.Stages, c.dose, before) <= 0 {
		return Proposal{}, false
	}
	return Proposal{Action: Down, Rule: RuleRevert, To: before, Sessions: c.last(2),
		Reasons: []string{tooMuch(c.run[0]) + " in the first session after a step up", "back to the dose before"}}, true
}

// short: the same trouble in as many sessions as must agree.
func short(c *patientCase) (Proposal, bool) {
	n := c.p.Int(protocol.SessionsAlike)
	seen := c.last(n)
	if c.untried || len(seen) < n {
		return Proposal{}, false
	}
	for _, s := range seen {
		if !s.bad() {
			return Proposal{}, false
		}
	}
	return c.down(RuleShort, fmt.Sprintf("%s in each of the last %d sessions", tooMuch(seen[n-1]), n), seen), true
}

// shortOnce: once may be a bad day.
func shortOnce(c *patientCase) (Proposal, bool) {
	seen := c.last(1)
	if c.untried || len(seen) == 0 || !seen[0].bad() {
		return Proposal{}, false
	}
	return Proposal{Action: Hold, Rule: RuleShortOnce, Sessions: seen,
		Reasons: []string{tooMuch(seen[0]) + " in the last session; one may be a bad day"}}, true
}

// early: too few sessions at this dose to judge it.
func early(c *patientCase) (Proposal, bool) {
	n := len(c.run)
	if c.untried {
		n = 0
	}
	if n >= c.p.Int(protocol.SessionsAlike) {
		return Proposal{}, false
	}
	return Proposal{Action: Hold, Rule: RuleEarly, Sessions: c.last(n),
		Reasons: []string{fmt.Sprintf("%s at this dose so far; wanted: %s", counted(n), c.p.Allowed(protocol.SessionsAlike))}}, true
}

// unsure: what is not known leads nowhere but to steady.
func unsure(c *patientCase) (Proposal, bool) {
	seen := c.alike()
	for _, s := range seen {
		if s.Unanswered || s.Reserve == "" {
			return Proposal{Action: Hold, Rule: RuleSteady, Sessions: seen,
				Reasons: []string{"the effort question went unanswered on " + string(coach.DayOf(s.At))}}, true
		}
	}
	for _, s := range c.sessions {
		if s.Doubtful && !s.At.Before(seen[0].At) {
			return Proposal{Action: Hold, Rule: RuleSteady, Sessions: seen,
				Reasons: []string{"the log of " + string(coach.DayOf(s.At)) + " is incomplete, so something may be missing"},
				Finding: "a log is incomplete"}, true
		}
	}
	return Proposal{}, false
}

// steady: nothing argues for a change.
func steady(c *patientCase) (Proposal, bool) {
	return Proposal{Action: Hold, Rule: RuleSteady, Sessions: c.alike(),
		Reasons: []string{"nothing argues for a change yet"}}, true
}
