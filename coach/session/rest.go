package session

import (
	"time"

	"evenbell/coach"
)

// rest is the rest after a set or, for a patient who arrives from another
// station, what is left of the rest counted from the arrival.
type rest struct {
	arrived bool
	last    bool // after the last exercise, on the mat
}

// next is the item coming after the rest, or nil.
func (r rest) next(s *Session) *coach.Item {
	i := s.item + 1
	switch {
	case r.last:
		return nil
	case r.arrived:
		i = s.first
	case s.set < s.current().Dose.Sets:
		i = s.item
	}
	if i >= len(s.prog.Items) {
		return nil
	}
	return &s.prog.Items[i]
}

// standsUp reports whether the patient leaves the mat after this rest.
func (r rest) standsUp(s *Session) bool {
	if r.arrived || !s.onMat {
		return false
	}
	next := r.next(s)
	return next == nil || !next.Position.OnMat()
}

func (r rest) length(s *Session) time.Duration {
	switch {
	case r.arrived:
		return max(0, s.prog.Items[s.first].Pace.Rest-s.rate.Duration(s.pos))
	case r.last:
		return s.prog.SitBefore
	case r.standsUp(s):
		return max(s.current().Pace.Rest, s.prog.SitBefore)
	}
	return s.current().Pace.Rest
}

func (r rest) build(s *Session, b *builder) {
	s.restFrom = s.pos
	if r.arrived {
		s.restFrom = 0
	}
	d := r.length(s)
	total := s.rate.At(d)
	b.timer(coach.CueRest, total)
	says := coach.SayRest
	if r.standsUp(s) {
		says = coach.SayRestSit
	}
	b.sayWithin(total, coach.Phrase{ID: says, Seconds: int((d + time.Second - 1) / time.Second)})
	r.lookAhead(s, b, total)
	for _, left := range []time.Duration{30 * time.Second, 10 * time.Second} {
		if at := total - s.rate.At(left); at >= b.at && 2*left <= d {
			b.at = at
			b.sayWithin(total, coach.Phrase{ID: coach.SayTimeLeft, Seconds: int(left / time.Second)})
		}
	}
	b.timerEnd(total, coach.CueRestEnd)
}

// lookAhead says in time what comes next and what to fetch for it.
func (r rest) lookAhead(s *Session, b *builder, total coach.Samples) {
	next := r.next(s)
	if next == nil || (!r.arrived && next == s.current()) {
		return
	}
	b.wait(time.Second)
	b.sayWithin(total, coach.Phrase{ID: coach.SayComingUp, Exercise: next.Exercise, Stage: next.Dose.Stage,
		Load: next.Dose.Load, Hands: next.Dumbbells})
}

func (rest) pressed(*Session, coach.Button) bool { return false }

func (r rest) ended(s *Session) {
	took := s.rate.Duration(s.pos - s.restFrom)
	s.log(coach.EntryRestEnd, &coach.RestEndData{Seconds: coach.Seconds(took)})
	if r.last {
		s.onMat = false
		s.leaveItems()
		return
	}
	s.afterRest()
}
