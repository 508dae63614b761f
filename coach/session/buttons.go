package session

import "evenbell/coach"

// volumeStep, quietest and loudest bound the person's own volume, in dB
// against the station's; AtMost may bound it further. common practice, no source.
const (
	volumeStep = 3
	quietest   = -18
	loudest    = 6
)

// anywhere is what a press does where the step has no use for it.
func (s *Session) anywhere(b coach.Button) {
	switch b {
	case coach.Plus:
		s.turn(volumeStep, "louder", "loudest")
	case coach.Minus:
		s.turn(-volumeStep, "softer", "softest")
	case coach.Hold:
		s.hold()
	}
}

// turn changes the volume and says so where nothing else is being said.
func (s *Session) turn(db int, word, limit string) {
	if s.now.mode == modeLed || s.asking() {
		return
	}
	v := min(max(s.volume+db, min(quietest, s.loudest)), s.loudest)
	if v == s.volume {
		word = limit
	}
	s.volume = v
	s.log(coach.EntryVolume, &coach.VolumeData{DB: v})
	if said := (coach.Phrase{ID: coach.SayVolume, Name: word}); s.speaking() < 0 && s.pos >= s.asideTo && s.quiet() >= s.speech.Length(said) {
		s.aside(said)
	}
}

// asking reports whether plus and minus are answers now.
func (s *Session) asking() bool { return s.now.waits != "" && s.now.waits != ForReady }

// hold is what the hold control does by the mode of the passage.
func (s *Session) hold() {
	i := s.speaking()
	switch {
	case s.now.mode == modeLed:
		s.cut(paused{held: s.step, from: s.resumeAt()})
	case s.now.mode == modeAsk && (s.asking() || i >= 0):
		s.hinted = false // who asks to hear it again may need the rest of it, too
		s.cut(s.step)
	case i < 0 && s.now.mode != modeTalk:
		s.cut(paused{held: s.step, now: s.now, elapsed: s.pos - s.origin, next: s.next})
	case i >= 0:
		s.out.Hush = append(s.out.Hush, s.pos)
		s.origin, s.next = s.pos-s.now.marks[i].at, i
	}
}

// speaking is the index of the mark whose sentence is being said, or -1.
func (s *Session) speaking() int {
	for i := s.next - 1; i >= 0; i-- {
		m := &s.now.marks[i]
		if m.len > 0 {
			if s.origin+m.at+m.len > s.pos {
				return i
			}
			return -1
		}
	}
	return -1
}

// quiet is how long nothing more will be said if nobody presses anything: to
// the next sentence, or to the end of the passage.
func (s *Session) quiet() coach.Samples {
	for _, m := range s.now.marks[s.next:] {
		if m.len > 0 {
			return s.origin + m.at - s.pos
		}
	}
	return s.origin + s.now.length - s.pos
}

// aside says a phrase now without changing the passage.
func (s *Session) aside(p coach.Phrase) {
	b := builder{s: s}
	c := b.cue(coach.CueSay)
	c.At, c.Phrase = s.pos, p
	s.sounds(c)
	s.asideTo = s.pos + s.speech.Length(p)
}
