package station

import (
	"slices"

	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/session"
)

// ahead is how many bytes of decoded clips a live session may hold beside those
// it keeps: more than any two stretches of it that follow one another.
const ahead = 6 << 20

// A session is decoded a stretch ahead: while one exercise is led, the clips of
// the next are got ready, and those of the exercises before may go. What has
// just been laid out goes before all else. What may be said at any moment is
// kept throughout, and so is the first sentence of every stretch, since a
// person may leave exercises out: while that is spoken, the rest of its stretch
// has time to be decoded.
type stretches struct {
	clips  [][]string                  // in the order they are led
	begun  map[coach.Phrase]int        // what begins a stretch → the stretch
	follow map[coach.PhraseID][]string // what may be said after a sentence, by what is pressed
	still  bool                        // nothing is decoded by what is asked now
}

// begins reports whether a phrase begins a stretch of a session.
func begins(p coach.Phrase) bool {
	switch p.ID {
	case coach.SayWarmUp, coach.SayExercise, coach.SayCoolDown:
		return true
	}
	return false
}

// newStretches divides what a session says in its order. It also gives the
// sentences that begin a stretch.
func newStretches(says []coach.Phrase, lines func(coach.Phrase) []string) (s stretches, firsts []coach.Phrase) {
	s.begun, s.follow = make(map[coach.Phrase]int), make(map[coach.PhraseID][]string)
	for id, ps := range follows {
		for _, p := range ps {
			s.follow[id] = append(s.follow[id], lines(p)...)
		}
	}
	s.clips = [][]string{nil}
	for _, p := range says {
		if begins(p) {
			firsts = append(firsts, p)
			s.begun[p] = len(s.clips)
			s.clips = append(s.clips, nil)
		}
		last := &s.clips[len(s.clips)-1]
		for _, id := range lines(p) {
			if !slices.Contains(*last, id) {
				*last = append(*last, id)
			}
		}
	}
	return s, firsts
}

// of is the clips of a stretch; none beyond the last.
func (s *stretches) of(i int) []string {
	if i >= len(s.clips) {
		return nil
	}
	return s.clips[i]
}

// comes gets ready what a session has just laid out, what may follow it and,
// where a stretch begins with it, that stretch and the one after. It is called
// by the audio goroutine.
func (v *Voice) comes(ph coach.Phrase, ids []string) {
	if v.coming.still {
		return
	}
	v.store.Urge(ids...)
	v.store.Prefetch(v.coming.follow[ph.ID]...)
	if i, ok := v.coming.begun[ph]; ok {
		v.store.Prefetch(v.coming.of(i)...)
		v.store.Prefetch(v.coming.of(i + 1)...)
	}
}

// Prepare gets ready what a session or a lobby will say: what may be said at
// once before it returns, the rest off the caller's goroutine, in the order it
// will be heard and no further ahead than a stretch.
func (v *Voice) Prepare(cfg player.Config) error {
	v.coming = stretches{}
	home := cfg.Programme.Home
	if cfg.Lobby != nil {
		home = cfg.Lobby.Home
	}
	lines := func(p coach.Phrase) []string {
		p.AtHome = home != nil
		return v.lines(p)
	}
	first, keeps := lobbySays(cfg.Lobby), lobbySays(cfg.Lobby)
	if cfg.Lobby == nil {
		says := v.saysInOrder(cfg)
		v.coming, keeps = newStretches(says, lines)
		first = says[:1]
	}
	var kept []string
	for _, p := range slices.Concat(keeps, atAnyMoment, calls(home)) {
		kept = append(kept, lines(p)...)
	}
	v.store.Keep(kept...)
	for _, p := range append(slices.Clone(first), coach.Phrase{ID: coach.SayStop}) {
		for _, id := range lines(p) {
			if _, err := v.store.Get(id); err != nil {
				return err
			}
		}
	}
	v.store.Prefetch(v.coming.of(0)...)
	v.store.Prefetch(kept...)
	v.store.Prefetch(v.coming.of(1)...)
	return nil
}

// saysInOrder is what a session says where all goes well.
func (v *Voice) saysInOrder(cfg player.Config) (says []coach.Phrase) {
	v.coming.still = true
	cfg.Patient, cfg.Presses = player.Willing, nil
	heard, _ := player.Dry(cfg)
	v.coming.still = false
	for _, c := range heard.Cues {
		if c.Phrase.ID != "" {
			says = append(says, c.Phrase)
		}
	}
	return says
}

// lobbySays is what a lobby may say at once.
func lobbySays(l *session.Lobby) []coach.Phrase {
	if l == nil {
		return nil
	}
	ps := []coach.Phrase{{ID: coach.SayReadyHere}, {ID: coach.AskWho}, {ID: coach.SayPlaceLocked}, {ID: coach.SayReleased}}
	for _, t := range append(slices.Clone(l.Troubles), l.Refusal) {
		ps = append(ps, coach.Phrase{ID: coach.SayTrouble, Name: string(t)})
	}
	if l.Failed {
		ps = append(ps, coach.Phrase{ID: coach.SayTrouble, Name: string(coach.TroubleLogFailed)})
	}
	for i, g := range l.Guests {
		ps = append(ps, coach.Phrase{ID: coach.SayWho, N: i + 1, Name: g.Name}, coach.Phrase{ID: coach.AskIsItYou,
			Name: g.Name, Exercise: g.First.Exercise, Load: g.First.Dose.Load, Hands: g.First.Dumbbells})
	}
	if len(l.Codes) > 0 || slices.ContainsFunc(l.Guests, func(g session.Guest) bool { return g.Held }) {
		ps = append(ps, coach.Phrase{ID: coach.SayTrouble, Name: string(coach.TroubleHeld)}, coach.Phrase{ID: coach.SayCodeOffer},
			coach.Phrase{ID: coach.AskCode}, coach.Phrase{ID: coach.SayCodeRight}, coach.Phrase{ID: coach.SayCodeWrong}, coach.Phrase{ID: coach.SayCodeOver})
		for n := 1; n < 8; n++ { // presses of a code
			ps = append(ps, coach.Phrase{ID: coach.SayCount, N: n})
		}
	}
	for i := range l.Guests {
		ps = append(ps, l.Guests[i].Says()...)
	}
	if l.Broken != nil {
		ps = append(ps, l.Broken.Asks(l.Guests[l.Broken.Guest].Name))
	}
	return ps
}

// atAnyMoment is what a session may have to say at once.
var atAnyMoment = []coach.Phrase{
	{ID: coach.SayStop}, {ID: coach.SayPaused}, {ID: coach.SayHelpComing}, {ID: coach.SayReleased},
	{ID: coach.SayVolume, Name: "louder"}, {ID: coach.SayVolume, Name: "softer"},
	{ID: coach.SayVolume, Name: "loudest"}, {ID: coach.SayVolume, Name: "softest"},
}

// calls is what may be said at any moment at home, besides.
func calls(h *coach.Home) []coach.Phrase {
	if h == nil {
		return nil
	}
	return []coach.Phrase{{ID: coach.SayEmergency, Name: h.Emergency}, {ID: coach.SayIfWorse, Name: h.Emergency},
		{ID: coach.SayRing, Name: string(h.Telephone)}}
}

// follows is what a session says only when something happens, by the sentence
// that comes before it.
var follows = map[coach.PhraseID][]coach.Phrase{
	coach.SayIntro:      {{ID: coach.SayIntro, N: session.IntroPractised}},
	coach.AskWell:       {{ID: coach.SayNotWell}},
	coach.AskSymptoms:   {{ID: coach.SayNotWell}},
	coach.AskSincePlace: {{ID: coach.SayNotWell}},
	coach.AskTablets:    {{ID: coach.SayNotWell}},
	coach.AskWarmedUp:   {{ID: coach.SayNotWell}},
	coach.AskTelephone:  {{ID: coach.SayFetch}},
	coach.AskClosing:    {{ID: coach.SayClosingNo}},
	coach.SayPaused:     {{ID: coach.SayResume}, {ID: coach.SayResume, N: 1}, {ID: coach.SaySkip}, {ID: coach.SayEnoughDone}},
	coach.SaySetEnd:     {{ID: coach.AskAllRight}, {ID: coach.HintYesNo}},
	coach.AskEffort: {{ID: coach.SayEffort, Name: string(coach.ReserveNone)}, {ID: coach.SayEffort, Name: string(coach.ReserveFew)},
		{ID: coach.SayEffort, Name: string(coach.ReserveMany)}, {ID: coach.HintChange}},
	coach.SayNeedsLook: {{ID: coach.SayAbandoned}},
	coach.SayStop:      append([]coach.Phrase{{ID: coach.AskSymptom}}, symptomsSaid()...),
	coach.AskSymptom:   {{ID: coach.SayStopNoted}},
}

func symptomsSaid() (ps []coach.Phrase) {
	for _, s := range coach.Symptoms {
		ps = append(ps, coach.Phrase{ID: coach.SaySymptom, Name: string(s)})
	}
	return ps
}
