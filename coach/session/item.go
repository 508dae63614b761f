package session

import "evenbell/coach"

// firstItem begins the exercises.
func firstItem(s *Session) { s.beginItem(s.first) }

// beginItem begins item i.
func (s *Session) beginItem(i int) {
	s.item, s.set, s.pass, s.rep, s.inItem = i, 0, 0, 0, true
	s.tally, s.itemLed = tally{}, false
	it := s.current()
	s.log(coach.EntryItemStart, &coach.ItemStartData{Load: it.Dose.Load, Reps: it.Dose.Reps,
		Sets: it.Dose.Sets, Stage: it.Dose.Stage, Sides: it.Sides})
	s.begin(announce{})
}

// about is a phrase about the current item.
func (s *Session) about(id coach.PhraseID) coach.Phrase {
	it := s.current()
	return coach.Phrase{ID: id, Exercise: it.Exercise, Stage: it.Dose.Stage}
}

// carrying is a phrase about the current item's load.
func (s *Session) carrying(id coach.PhraseID) coach.Phrase {
	it := s.current()
	return coach.Phrase{ID: id, Load: it.Dose.Load, Hands: it.Dumbbells}
}

// announce says what comes, how many, how heavy, and how to begin; to a person
// who knows the exercise, of the last only the one caution.
type announce struct{ plain }

func (announce) build(s *Session, b *builder) {
	it := s.current()
	name := s.about(coach.SayExercise)
	name.N, name.Of = s.item+1, len(s.prog.Items)
	b.say(name,
		coach.Phrase{ID: coach.SayHowMany, N: it.Dose.Reps, Of: it.Dose.Sets, Sides: it.Sides},
		s.carrying(coach.SayLoad))
	if it.Words == coach.WordsBrief {
		b.say(s.about(coach.SayCare))
		return
	}
	if it.Last.Reps > 0 {
		b.say(coach.Phrase{ID: coach.SayLastTime, Load: it.Last.Load, N: it.Last.Reps, Hands: it.Dumbbells})
	}
	b.say(s.about(coach.SaySetUp), s.about(coach.SayCare), s.about(coach.SayOutAs), coach.Phrase{ID: coach.SayFreely})
}

func (announce) ended(s *Session) {
	s.set = 1
	s.begin(ready{})
}

// ready waits for the tap without which no set starts.
type ready struct{}

func (ready) build(s *Session, b *builder) {
	passes := s.current().Sides.Passes()
	if s.set > 1 && s.pass == 0 {
		next := s.carrying(coach.SayNextSet)
		next.N, next.Of = s.set, s.current().Dose.Sets
		b.say(next)
	}
	if side := passes[s.pass]; side != coach.Both {
		b.say(coach.Phrase{ID: coach.SaySide, Side: side, N: s.pass + 1})
	}
	prompt := func() { b.speak(coach.CueReady, coach.Phrase{ID: coach.SayReady}) }
	prompt()
	b.question(ForReady, 0, prompt)
}

func (ready) ended(*Session) {}

func (ready) pressed(s *Session, btn coach.Button) bool {
	if btn != coach.Tap {
		return false
	}
	s.tally = tally{}
	s.inSet, s.onMat = true, s.current().Position.OnMat()
	s.log(coach.EntrySetStart, nil)
	s.cut(leading{from: 1})
	return true
}

// afterSet goes on from a set that has ended and been asked about.
func (s *Session) afterSet() {
	it := s.current()
	switch {
	case s.pass+1 < len(it.Sides.Passes()):
		s.pass++
		s.begin(ready{})
	case s.set == it.Dose.Sets && s.item+1 == len(s.prog.Items):
		s.leaveItems()
	default:
		s.begin(rest{})
	}
}

// afterRest goes on with the next set or the next item.
func (s *Session) afterRest() {
	switch {
	case !s.inItem:
		firstItem(s)
	case s.set < s.current().Dose.Sets:
		s.set, s.pass = s.set+1, 0
		s.begin(ready{})
	default:
		s.nextItem()
	}
}

// nextItem begins the next item, or what follows the last one.
func (s *Session) nextItem() {
	if s.item+1 == len(s.prog.Items) {
		s.leaveItems()
		return
	}
	s.beginItem(s.item + 1)
}

// leaveItems ends the exercises on this station: from the mat only after
// sitting a while.
func (s *Session) leaveItems() {
	if s.onMat {
		s.begin(rest{last: true})
		return
	}
	s.inItem = false
	switch {
	case s.prog.Part.HasCoolDown() && s.prog.CoolsElsewhere:
		closingQuestion(s)
	case s.prog.Part.HasCoolDown():
		s.begin(guided{coach.CueCoolDown})
	default:
		s.begin(allDone{})
	}
}
