package session

import "evenbell/coach"

// Code is a code that clears a tag here, told by telephone.
type Code struct {
	Tag     string
	Counter int64
	Presses []coach.Button // never the red one
}

// ForCode is what a lobby waits for while a code is pressed.
const ForCode = "code"

// take begins a guest's session, unless something speaks against it.
func (s *Session) take(i int) {
	switch g := &s.lobby.Guests[i]; {
	case g.Held:
		s.cut(heldBack{})
	case g.NotToday != nil:
		s.refuse(i, *g.NotToday)
	case g.Refusal != "":
		s.cut(said{phrase: coach.Phrase{ID: coach.SayTrouble, Name: string(g.Refusal)}, then: (*Session).settleDown})
	case g.AsksRested:
		s.cut(rested{i})
	default:
		s.choose(Choice{Guest: i})
	}
}

// mayTry reports whether a code could be pressed.
func (s *Session) mayTry() bool { return len(s.lobby.Codes) > 0 && s.wrong < s.lobby.Tries }

// heldBack says that staff have to be spoken to first. Who has a code from
// them presses hold.
type heldBack struct{}

func (heldBack) build(s *Session, b *builder) {
	b.say(coach.Phrase{ID: coach.SayTrouble, Name: string(coach.TroubleHeld)})
	b.say(s.rings()...)
	if s.mayTry() {
		b.say(coach.Phrase{ID: coach.SayCodeOffer})
		b.asksFor(ForCode)
	}
}

func (heldBack) ended(s *Session) { s.settleDown() }

func (heldBack) pressed(s *Session, btn coach.Button) bool {
	if btn != coach.Hold || !s.mayTry() {
		return false
	}
	s.cut(code{})
	return true
}

// code takes the presses of a code, and says after each how many there were.
type code struct {
	got [8]coach.Button
	n   int
}

func (c code) build(_ *Session, b *builder) {
	if c.n == 0 {
		b.speak(coach.CueAsk, coach.Phrase{ID: coach.AskCode})
	} else {
		b.say(coach.Phrase{ID: coach.SayCount, N: c.n})
	}
	b.asksFor(ForCode)
}

func (code) ended(s *Session) { s.settleDown() }

func (c code) pressed(s *Session, btn coach.Button) bool {
	if btn == coach.Stop {
		s.stop()
		return true
	}
	c.got[c.n] = btn
	if c.n++; c.n < len(c.got) {
		s.cut(c)
		return true
	}
	for _, good := range s.lobby.Codes {
		if [8]coach.Button(good.Presses) == c.got {
			s.clear(good)
			return true
		}
	}
	s.wrong++
	s.log(coach.EntryWrongCode, nil)
	s.cut(wrongCode{})
	return true
}

// clear lets a tag exercise again, and frees the station where a stop has
// locked it. The station then looks around anew.
func (s *Session) clear(c Code) {
	s.logFor(c.Tag, coach.EntryClear, &coach.ClearData{By: coach.ByTelephone, Counter: c.Counter})
	if s.stopped {
		s.log(coach.EntryRelease, &coach.ReleaseData{By: coach.ByTelephone})
		s.stopped, s.looking, s.helped = false, false, false
	}
	s.cut(said{phrase: coach.Phrase{ID: coach.SayCodeRight}, then: func(s *Session) { s.choose(Choice{Tapped: true}) }})
}

// wrongCode says that a code clears nobody.
type wrongCode struct{}

func (wrongCode) build(s *Session, b *builder) {
	if !s.mayTry() {
		b.say(coach.Phrase{ID: coach.SayCodeOver})
		b.say(s.rings()...)
		return
	}
	b.say(coach.Phrase{ID: coach.SayCodeWrong})
	b.asksFor(ForCode)
}

func (wrongCode) ended(s *Session) { s.settleDown() }

func (wrongCode) pressed(s *Session, btn coach.Button) bool {
	switch {
	case btn == coach.Stop:
		s.stop()
	case btn == coach.Hold && s.mayTry():
		s.cut(code{})
	default:
		return false
	}
	return true
}

// Release frees a stopped station from afar, in somebody's name. It does
// nothing where nothing is stopped, or where the log has failed.
func (s *Session) Release(by string, out *Output) {
	if !s.stopped || s.step == nil || s.lobby != nil && s.lobby.Failed {
		return
	}
	s.out = out
	if s.lobby != nil {
		s.release(by)
	} else {
		s.log(coach.EntryRelease, &coach.ReleaseData{By: by})
		s.stopped, s.looking, s.helped = false, false, false
		s.cut(said{phrase: coach.Phrase{ID: coach.SayReleased}, then: func(s *Session) { s.end(coach.Stopped) }})
	}
	s.out = nil
}
