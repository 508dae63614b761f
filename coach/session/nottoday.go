package session

import (
	"strings"

	"evenbell/coach"
)

// NotToday is why somebody at home is not coached today.
type NotToday struct {
	Reason coach.Refusal
	// Next is the day on which the next session may be, and In how many days
	// from today that is; empty and 0 where nobody can say.
	Next coach.Day
	In   int
	// Last is true where the plan has no day left.
	Last bool
}

// Says is what is said to a guest before a session: the question whether the
// days between were kept or, where there is none today, why, when the next may
// be and, where there is none or something was amiss, whom to ring.
func (g *Guest) Says() []coach.Phrase {
	n := g.NotToday
	switch {
	case g.AsksRested:
		return []coach.Phrase{{ID: coach.AskRested}, {ID: coach.HintYesNo}, {ID: coach.SayNotToday, Name: string(coach.RefusedRest)}}
	case g.Refusal != "":
		return []coach.Phrase{{ID: coach.SayTrouble, Name: string(g.Refusal)}}
	case n == nil:
		return nil
	}
	out := []coach.Phrase{{ID: coach.SayNotToday, Name: string(n.Reason)}}
	if n.Last && n.Reason != coach.RefusedOver {
		out = append(out, coach.Phrase{ID: coach.SayNotToday, Name: string(coach.RefusedOver)})
	}
	if n.In > 0 {
		weekday := strings.ToLower(n.Next.Time().Weekday().String())
		out = append(out, coach.Phrase{ID: coach.SayNextSession, N: n.In, Name: weekday})
	}
	if n.Last || n.Reason == coach.RefusedOver || n.Reason == coach.RefusedEnded {
		out = append(out, coach.Phrase{ID: coach.SayRing, Name: string(g.Home.Telephone)})
	}
	return out
}

// refuse says to a guest, and logs, why there is no session today.
func (s *Session) refuse(i int, n NotToday) {
	g := s.lobby.Guests[i]
	g.NotToday, g.AsksRested = &n, false
	s.logFor(g.Tag, coach.EntryRefused, &coach.RefusedData{Reason: n.Reason, Next: n.Next})
	says := g.Says()
	s.cut(said{phrase: says[0], more: says[1:], then: (*Session).settleDown})
}

// logFor emits an entry of a lobby about a tag.
func (s *Session) logFor(tag string, k coach.EntryKind, data any) {
	s.log(k, data)
	s.out.Entries[len(s.out.Entries)-1].Tag = tag
}

// rested asks a guest whether the days between were kept, where no clock tells:
// a person can count days, a station without a clock can't.
type rested struct{ i int }

func (rested) build(s *Session, b *builder) {
	b.speak(coach.CueAsk, coach.Phrase{ID: coach.AskRested})
	b.p.open = b.spoken()
	b.say(coach.Phrase{ID: coach.HintYesNo})
	b.asksFor(ForRested)
}

func (rested) ended(s *Session) { s.begin(idle{}) }

func (r rested) pressed(s *Session, btn coach.Button) bool {
	answer := s.answered(btn)
	if answer == "" {
		return false
	}
	s.out.Entries[len(s.out.Entries)-1].Tag = s.lobby.Guests[r.i].Tag
	if answer == coach.AnswerWell {
		s.choose(Choice{Guest: r.i})
	} else {
		s.refuse(r.i, NotToday{Reason: coach.RefusedRest})
	}
	return true
}
