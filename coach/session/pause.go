package session

import "evenbell/coach"

// resumeAt is the repetition a paused set goes on with; 0 while it had not
// begun to move.
func (s *Session) resumeAt() int { return s.rep }

// paused waits for the patient to go on, to leave the exercise out, or to end
// the exercises for today.
type paused struct {
	held    step          // what was paused
	from    int           // of a set: the repetition broken off; 0 before the first
	now     *passage      // of a timer: goes on where it was
	elapsed coach.Samples // of now
	next    int           // in now
	says    coach.Trouble // why the station itself paused; empty where the patient did
}

func (p paused) build(s *Session, b *builder) {
	if s.inItem && p.now == nil {
		s.tally.breakOff()
	}
	s.log(coach.EntryPause, nil)
	b.put(0, b.cue(coach.CuePause))
	b.wait(chime)
	if p.says != "" {
		b.say(coach.Phrase{ID: coach.SayTrouble, Name: string(p.says)})
	}
	prompt := func() { b.say(p.offers()) }
	prompt()
	b.question(ForResume, 0, prompt)
}

func (paused) ended(*Session) {}

func (p paused) pressed(s *Session, btn coach.Button) bool {
	switch {
	case btn == coach.Hold:
		s.log(coach.EntryResume, nil)
		s.cut(p.resumes())
	case btn == coach.Minus && s.inItem || btn == coach.Minus && p.rests():
		if r, ok := p.held.(rest); ok {
			s.skipNext(r)
		} else {
			s.skip()
		}
	case btn == coach.Plus && !p.cools():
		s.finishEarly()
	}
	return true
}

// rests reports whether a rest was paused: what can be left out then is what
// comes next.
func (p paused) rests() bool {
	_, ok := p.held.(rest)
	return ok
}

// cools reports whether the cool-down was paused: nothing is left to leave out.
func (p paused) cools() bool {
	g, ok := p.held.(guided)
	return ok && g.kind == coach.CueCoolDown
}

// offers is what the pause says can be done.
func (p paused) offers() coach.Phrase {
	switch g, ok := p.held.(guided); {
	case ok && g.kind == coach.CueCoolDown:
		return coach.Phrase{ID: coach.SayPaused, Name: "plain"}
	case ok:
		return coach.Phrase{ID: coach.SayPaused, Name: "warm-up"}
	}
	return coach.Phrase{ID: coach.SayPaused}
}

// resumes is the step a pause goes on with.
func (p paused) resumes() step {
	switch {
	case p.now != nil && p.now.mode == modeTimer:
		return resumed{p}
	case p.from > 0:
		return leading{from: p.from, resumed: true}
	default:
		return resumed{p}
	}
}

// resumed says that it goes on, and goes on.
type resumed struct{ p paused }

func (resumed) build(s *Session, b *builder) {
	b.resumes(coach.Phrase{ID: coach.SayResume})
}

func (resumed) pressed(*Session, coach.Button) bool { return false }

func (r resumed) ended(s *Session) {
	if r.p.now == nil || r.p.now.mode != modeTimer {
		s.begin(r.p.held)
		return
	}
	s.step, s.now, s.origin, s.next = r.p.held, r.p.now, s.pos-r.p.elapsed, r.p.next
}

// resumes sounds that it goes on, and says so.
func (b *builder) resumes(p coach.Phrase) {
	b.put(b.at, b.cue(coach.CueResume))
	b.wait(chime)
	b.say(p)
}

// finishEarly ends the exercises for today and goes to the cool-down.
func (s *Session) finishEarly() {
	if s.inItem && !s.itemDone() {
		s.log(coach.EntrySkip, &coach.SkipData{Led: s.tally.led})
	}
	s.early, s.inSet, s.rep = true, false, 0
	s.cut(said{phrase: coach.Phrase{ID: coach.SayEnoughDone}, then: (*Session).leaveItems})
}

// itemDone reports whether every set of the current item has ended.
func (s *Session) itemDone() bool {
	return !s.inSet && s.set == s.current().Dose.Sets && s.pass+1 == len(s.current().Sides.Passes()) && s.itemLed
}

// skip leaves out the exercise being done.
func (s *Session) skip() {
	s.rep, s.inSet = 0, false
	s.log(coach.EntrySkip, &coach.SkipData{Led: s.tally.led})
	s.set, s.pass = s.current().Dose.Sets, len(s.current().Sides.Passes())-1
	s.cut(said{phrase: coach.Phrase{ID: coach.SaySkip}, then: func(s *Session) {
		if s.itemLed {
			s.afterSet()
			return
		}
		s.nextItem()
	}})
}

// skipNext leaves out, while a rest is paused, the exercise that would come
// after it: the rest of the current one, or the next. The rest goes on.
func (s *Session) skipNext(r rest) {
	switch {
	case r.last || !r.arrived && s.set == s.current().Dose.Sets && s.item+1 == len(s.prog.Items):
		return // nothing comes after it
	case r.arrived:
		s.item = s.first
		s.first++
	case s.set == s.current().Dose.Sets:
		s.item++
	}
	it := s.current()
	s.inItem, s.rep, s.set, s.pass, s.tally = true, 0, 0, 0, tally{}
	s.log(coach.EntrySkip, &coach.SkipData{})
	s.set, s.pass, s.inItem = it.Dose.Sets, len(it.Sides.Passes())-1, !r.arrived
	s.cut(said{phrase: coach.Phrase{ID: coach.SaySkip, Name: "next"}, then: func(s *Session) {
		switch {
		case r.arrived && s.first == len(s.prog.Items):
			s.leaveItems()
		case r.arrived:
			s.begin(r)
		default:
			s.afterSet()
		}
	}})
}
