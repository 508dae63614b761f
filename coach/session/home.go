package session

import (
	"time"

	"evenbell/coach"
)

// atHome reports whether nobody of staff is near.
func (s *Session) atHome() bool { return s.prog.Home != nil }

// homeSpeech tells how long phrases take in the words for home.
type homeSpeech struct{ Speech }

func (h homeSpeech) Length(p coach.Phrase) coach.Samples {
	p.AtHome = p.ID != ""
	return h.Speech.Length(p)
}

// emergency is what is said at home after a stop: what to do first, since that
// may save a life, and then whom to ring. Staff and patient agreed on the
// words. common practice, no source.
func (s *Session) emergency() []coach.Phrase {
	if !s.atHome() {
		return nil
	}
	return append([]coach.Phrase{{ID: coach.SayEmergency, Name: s.prog.Home.Emergency}}, s.rings()...)
}

// callsFor is what is said at home to somebody who is not well without a stop.
func (s *Session) callsFor() []coach.Phrase {
	if !s.atHome() {
		return nil
	}
	return append([]coach.Phrase{{ID: coach.SayIfWorse, Name: s.prog.Home.Emergency}}, s.rings()...)
}

// rings is whom to ring at home.
func (s *Session) rings() []coach.Phrase {
	if !s.atHome() {
		return nil
	}
	return []coach.Phrase{{ID: coach.SayRing, Name: string(s.prog.Home.Telephone)}}
}

// toFetch is how long somebody has to fetch the telephone before they are asked
// again; a tap is sooner. common practice, no source.
const toFetch = 2 * time.Minute

// fetching waits while somebody fetches the telephone, and asks again: without
// one at hand nobody exercises alone.
type fetching struct{ asks readiness }

func (fetching) build(_ *Session, b *builder) {
	b.p.mode = modeTimer
	b.say(coach.Phrase{ID: coach.SayFetch})
	b.wait(toFetch)
	b.p.length = b.at
}

func (f fetching) ended(s *Session) { s.begin(f.asks) }

func (f fetching) pressed(s *Session, btn coach.Button) bool {
	if btn != coach.Tap {
		return false
	}
	s.cut(f.asks)
	return true
}
