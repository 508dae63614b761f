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
	prompt := func() { b.say(coach.Phrase{ID: coach.SayPaused}) }
	prompt()
	b.question(ForResume, 0, prompt)
}

func (paused) ended(*Session) {}

func (p paused) pressed(s *Session, btn coach.Button) bool {
	switch {
	case btn == coach.Hold:
		s.log(coach.EntryResume, nil)
		s.cut(p.resumes())
	case btn == coach.Minus && (s.inItem || p.resting()):
		s.skip(p.resting())
	case btn == coach.Plus && p.held != step(guided{coach.CueCoolDown}):
		s.finishEarly()
	}
	return true
}

// resting reports whether a rest was paused: what can be left out then is
// what comes next.
func (p paused) resting() bool {
	_, ok := p.held.(rest)
	return ok
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
	if s.inItem {
		s.log(coach.EntrySkip, &coach.SkipData{Led: s.tally.led})
	}
	s.early, s.inSet, s.rep = true, false, 0
	s.cut(said{phrase: coach.Phrase{ID: coach.SayEnoughDone}, then: (*Session).leaveItems})
}

// skip leaves an exercise out: the one being done or, out of a rest between
// exercises, the next one.
func (s *Session) skip(resting bool) {
	if !s.inItem {
		s.item, s.inItem = s.first, true
	} else if resting && s.set == s.current().Dose.Sets && s.item+1 < len(s.prog.Items) {
		s.item, s.tally = s.item+1, tally{}
	}
	s.rep, s.inSet = 0, false
	s.log(coach.EntrySkip, &coach.SkipData{Led: s.tally.led})
	s.set, s.pass = s.current().Dose.Sets, len(s.current().Sides.Passes())-1
	s.cut(said{phrase: coach.Phrase{ID: coach.SaySkip}, then: func(s *Session) {
		if resting || s.tally.led > 0 {
			s.afterSet()
			return
		}
		s.nextItem()
	}})
}
