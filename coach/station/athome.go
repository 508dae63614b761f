package station

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/session"
)

// moment is when something happened, as far as the log tells: on which of the
// clinic's days, where a clock was trusted, and when on the machine's own.
type moment struct {
	day  coach.Day
	boot string
	mono int64
}

// present is now, by the same clocks.
type present struct {
	day   coach.Day
	known bool // whether day can be believed
	wall  time.Time
	boot  string
	mono  int64
}

// ending is what ended somebody's day.
type ending struct {
	moment
	reason coach.Refusal
}

// ends takes in an entry that may end somebody's day at home: a session's end,
// but for one that nobody came to, and a stop, whatever frees the box after it.
func (h *history) ends(e coach.Entry) {
	switch d := e.Data.(type) {
	case *coach.RepData:
		h.worked[e.Tag] = h.moment(e)
	case *coach.SessionEndData:
		switch d.Outcome {
		case coach.Completed, coach.FinishedEarly:
			h.ended[e.Tag] = ending{h.moment(e), coach.RefusedDone}
		case coach.Stopped, coach.NotStarted:
			h.ended[e.Tag] = ending{h.moment(e), coach.RefusedEnded}
		}
	}
	if e.Kind == coach.EntryStop {
		h.ended[e.Tag] = ending{h.moment(e), coach.RefusedEnded} // of no tag: of whoever lives there
	}
}

func (h *history) moment(e coach.Entry) moment {
	return moment{day: h.day(e), boot: e.Boot, mono: e.MonoNS}
}

// dayOf is the day of a moment, also where only the machine's own clock ran
// then; false where nothing tells, or where the clock then was ahead of today's.
func (n present) dayOf(m moment) (coach.Day, bool) {
	day := m.day
	if day == "" && n.known && m.boot != "" && m.boot == n.boot {
		day = coach.DayOf(n.wall.Add(time.Duration(m.mono - n.mono)))
	}
	return day, day != "" && day <= n.day
}

// sameDay is how soon after a moment it is the same day where no clock tells
// days. common practice, no source.
const sameDay = 12 * time.Hour

// within reports whether a moment is certainly less than that ago.
func (n present) within(m moment, d time.Duration) bool {
	return m.boot != "" && m.boot == n.boot && time.Duration(n.mono-m.mono) < d
}

// notToday says why a tag at home is not coached now, up to the plan's last
// day. asks is true where nobody but the person can tell.
func (h *history) notToday(tag string, home *coach.Home, n present, last coach.Day) (no *session.NotToday, asks bool) {
	worked, everWorked := h.worked[tag]
	ended, everEnded := h.endedDay(tag)
	if !n.known {
		rest := max(sameDay, time.Duration(home.DaysBetween)*24*time.Hour)
		switch {
		case everEnded && n.within(ended.moment, sameDay):
			return &session.NotToday{Reason: ended.reason}, false
		case everWorked && n.within(worked, sameDay):
			return &session.NotToday{Reason: coach.RefusedEnded}, false
		case everWorked && n.within(worked, rest):
			return &session.NotToday{Reason: coach.RefusedRest}, false
		}
		return nil, everWorked || everEnded
	}
	workedOn, workedKnown := n.dayOf(worked)
	endedOn, endedKnown := n.dayOf(ended.moment)
	next, reason := n.day, coach.RefusedRest
	if workedKnown {
		next = max(next, workedOn.AddDays(home.DaysBetween+1))
	}
	switch {
	case endedKnown && endedOn == n.day:
		next, reason = max(next, n.day.AddDays(1)), ended.reason
	case workedKnown && workedOn == n.day:
		reason = coach.RefusedEnded // and it was not gone on with
	}
	switch {
	case next == n.day:
		return nil, everWorked && !workedKnown || everEnded && !endedKnown
	case next > last:
		return &session.NotToday{Reason: reason, Last: true}, false
	}
	return &session.NotToday{Reason: reason, Next: next, In: n.day.DaysUntil(next)}, false
}

// endedDay is what last ended a tag's day, a stop of nobody's known included.
func (h *history) endedDay(tag string) (ending, bool) {
	own, ok := h.ended[tag]
	stop, any := h.ended[""]
	if !any || ok && own.after(stop.moment) {
		return own, ok
	}
	return stop, true
}

// after reports whether m is later than o, as far as one clock tells of both.
func (m moment) after(o moment) bool {
	if m.boot == o.boot && m.boot != "" {
		return m.mono >= o.mono
	}
	return m.day >= o.day
}

// notInPlan says of somebody at home that the plan is not for the day.
func notInPlan(p *plan.Plan, day coach.Day) *session.NotToday {
	if day < p.Day {
		return &session.NotToday{Reason: coach.RefusedEarly, Next: p.Day, In: day.DaysUntil(p.Day)}
	}
	return &session.NotToday{Reason: coach.RefusedOver, Last: true}
}

// home is of the first in a lobby, where all of them exercise at home.
func home(guests []session.Guest) *coach.Home {
	for _, g := range guests {
		if g.Home == nil {
			return nil
		}
	}
	if len(guests) == 0 {
		return nil
	}
	return guests[0].Home
}

// hasHome reports whether anybody in a plan exercises at home.
func hasHome(p *plan.Plan) bool {
	for _, who := range p.Patients {
		if who.Home != nil {
			return true
		}
	}
	return false
}

// present is now by this machine's clocks, in the clinic's days.
func (d *Device) present(day coach.Day) present {
	now := d.Clock.Now()
	return present{day: day, known: now.Trusted, wall: now.Wall.In(d.Config.Zone), boot: bootID(), mono: now.Mono}
}
