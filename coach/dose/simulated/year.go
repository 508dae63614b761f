package simulated

import (
	"math/rand/v2"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"
)

// Weeks is how long a simulation runs.
const Weeks = 52

const firstDay = coach.Day("2026-01-05") // a Monday

// lift is the one exercise they do, with a dumbbell.
var lift = coach.Exercise{ID: "lift", Region: coach.UpperBody,
	Stages: []coach.Stage{{ID: "standing", Name: "standing", Loads: []coach.LoadKind{coach.DumbbellLoad}}}}

// patient is one person's year under the rules.
type patient struct {
	person  *person
	p       *protocol.Protocol
	o       dose.Owned
	loads   []coach.Load
	h       dose.History
	planned coach.Dose
	last    coach.Day
	tally   Tally
}

// year runs one patient through a year; false where nothing owned is light
// enough to begin with.
func year(m Model, p *protocol.Protocol, o dose.Owned, r *rand.Rand) (Tally, bool) {
	c := &patient{person: newPerson(m, r), p: p, o: o, loads: o.Loads(coach.DumbbellLoad)}
	c.h = dose.History{Exercise: lift, Sides: coach.BothSides}
	if !c.begin() {
		return Tally{}, false
	}
	back := 0
	for week := range Weeks {
		if week < back {
			continue
		}
		if r.Float64() < m.AbsenceAWeek {
			back = week + m.AbsenceWeeks[0] + r.IntN(m.AbsenceWeeks[1]-m.AbsenceWeeks[0]+1)
			continue
		}
		for visit := range m.VisitsAWeek {
			if r.Float64() >= c.person.misses {
				c.visit(firstDay.AddDays(7*week + visit*7/m.VisitsAWeek))
			}
		}
	}
	c.finish()
	return c.tally, true
}

// begin chooses the first load from a trial set: the heaviest owned that can
// be done ten times with two left, as the person feels it.
func (c *patient) begin() bool {
	m := c.person.m
	reps := c.p.Int(protocol.RangeBottom)
	for _, l := range slices.Backward(c.loads) {
		if c.person.allows(l, c.person.now) < float64(m.TrialReps+m.TrialLeft) {
			continue
		}
		s, err := dose.StartFromTrial(c.p, c.o, coach.UpperBody, l, m.TrialReps, m.TrialLeft)
		if err != nil {
			return false
		}
		c.planned = coach.Dose{Load: s.Load, Reps: reps, Sets: 1, Stage: lift.Stages[0].ID}
		return true
	}
	return false
}

// visit is one day: staff decide on what is proposed, then the session.
func (c *patient) visit(day coach.Day) {
	if c.last != "" {
		c.person.away(c.last.DaysUntil(day))
		c.decide(day)
	}
	c.last = day
	c.session(day)
}

// decide is what staff make of the proposal before the session.
func (c *patient) decide(day coach.Day) {
	c.h.Planned = &c.planned
	got, err := dose.Propose(c.p, c.o, c.h, day)
	if err != nil {
		panic(err) // there is a session by now
	}
	c.note(got)
	switch {
	case got.Rule == dose.RuleStuck:
		c.tryNext()
	case got.Rule == dose.RuleLongGap:
		if i := c.index(c.planned.Load); i > 0 {
			c.planned.Load = c.loads[i-1]
		}
	case c.person.r.Float64() < c.person.m.Approves:
		c.planned = got.To
	}
}

// tryNext is a trial set at the next load, where the rules have no way up.
func (c *patient) tryNext() {
	i, m := c.index(c.planned.Load), c.person.m
	if i+1 < len(c.loads) && c.person.allows(c.loads[i+1], c.person.today()) >= float64(m.TrialReps+m.TrialLeft) {
		c.planned.Load, c.planned.Reps, c.planned.Sets = c.loads[i+1], c.p.Int(protocol.RangeBottom), 1
		c.tally.Trials++
	}
}

// session is one visit's work, as the log would have it.
func (c *patient) session(day coach.Day) {
	at := day.Time().Add(9 * time.Hour)
	s := dose.Session{At: at, Dose: c.planned, Result: dose.Complete, Worked: true, Observed: true, IDs: []string{string(day)}}
	if c.person.r.Float64() < c.person.m.Stop {
		s.Result = dose.Cut
		c.h.Events = append(c.h.Events, dose.Event{Kind: dose.StopEvent, At: at, Session: string(day)})
		c.h.Clearances = append(c.h.Clearances, dose.Clearance{By: "staff", At: at.AddDate(0, 0, c.person.m.ClearDays)})
	} else {
		c.work(&s)
	}
	c.h.Sessions = append(c.h.Sessions, s)
	c.tally.Sessions++
}

func (c *patient) work(s *dose.Session) {
	most := c.person.today()
	answered := map[coach.Reserve]bool{}
	for range c.planned.Sets {
		short, named := c.person.set(c.planned, most)
		if short {
			s.Result = dose.Short
		}
		answered[named] = true
	}
	for _, r := range []coach.Reserve{coach.ReserveMany, coach.ReserveFew, coach.ReserveNone} {
		if answered[r] {
			s.Reserve = r
		}
	}
	s.Unanswered = answered[""]
	if s.Result == dose.Short {
		c.tally.Short++
	}
	c.person.trained()
}

func (c *patient) index(l coach.Load) int {
	return slices.Index(c.loads, l)
}
