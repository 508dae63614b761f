package session

import "evenbell/coach"

// plain is a step in which presses mean nothing of their own.
type plain struct{}

func (plain) pressed(*Session, coach.Button) bool { return false }

// opening logs the start of the session.
type opening struct{ start coach.SessionStartData }

func (opening) build(*Session, *builder)            {}
func (opening) pressed(*Session, coach.Button) bool { return false }
func (o opening) ended(s *Session) {
	s.log(coach.EntrySessionStart, &o.start)
	if s.prog.Intro {
		s.begin(intro{})
		return
	}
	s.begin(welcome{})
}

// welcome says what the station is, and what it is not.
type welcome struct{ plain }

func (welcome) build(s *Session, b *builder) {
	name := s.prog.Call
	if name == "" {
		name = s.prog.Tag
	}
	if !s.prog.Approved {
		b.say(coach.Phrase{ID: coach.SayUnapproved})
	}
	if s.prog.Part.HasWarmUp() {
		b.say(coach.Phrase{ID: coach.SayWelcome, Name: name})
	} else {
		b.say(coach.Phrase{ID: coach.SayWelcomeOn, Name: name})
	}
	if s.atHome() && s.prog.Home.Alone {
		b.say(coach.Phrase{ID: coach.SayAlone})
	}
	if s.prog.Note != "" {
		b.say(coach.Phrase{ID: coach.SayNote, Name: s.prog.Note})
	}
}

func (welcome) ended(s *Session) { s.begin(readiness{}) }

// readiness asks one of the questions that come before exercise.
type readiness struct{ i int }

type question struct {
	id   string
	says coach.PhraseID
}

// readinessQuestions are the questions this part of the session begins with.
func (s *Session) readinessQuestions() []question {
	if !s.prog.Part.HasWarmUp() {
		return []question{{coach.QuestionSymptoms, coach.AskSincePlace}}
	}
	qs := []question{
		{coach.QuestionWell, coach.AskWell},
		{coach.QuestionSymptoms, coach.AskSymptoms},
		{coach.QuestionTablets, coach.AskTablets},
	}
	if s.prog.WarmedUp {
		qs = append(qs, question{coach.QuestionWarmedUp, coach.AskWarmedUp})
	}
	if s.atHome() {
		qs = append(qs, question{coach.QuestionTelephone, coach.AskTelephone})
	}
	return qs
}

func (r readiness) build(s *Session, b *builder) { b.yesNo(s.readinessQuestions()[r.i]) }
func (readiness) ended(*Session)                 {}

func (r readiness) pressed(s *Session, btn coach.Button) bool {
	q := s.readinessQuestions()
	switch answer := s.answered(btn); {
	case answer == "":
		return false
	case answer == coach.AnswerNotWell && q[r.i].id == coach.QuestionTelephone:
		s.cut(fetching{r})
	case answer == coach.AnswerNotWell:
		s.cut(notWell{})
	case r.i+1 < len(q):
		s.cut(readiness{r.i + 1})
	default:
		s.cutTo(beforeItems)
	}
	return true
}

// yesNo asks a question put so that plus means all is well. How to answer is
// said with the first of a session, whenever one is asked again, and after
// "enough", where a wrong press would be a stop.
func (b *builder) yesNo(q question) {
	hint := coach.Phrase{ID: coach.HintYesNo}
	b.speak(coach.CueAsk, coach.Phrase{ID: q.says})
	open := b.spoken()
	if !b.s.hinted || q.id == coach.QuestionAllRight {
		b.say(hint)
	}
	b.s.hinted = true
	b.question(q.id, open, func() {
		b.speak(coach.CueAsk, coach.Phrase{ID: q.says})
		b.say(hint)
	})
}

// answered reads plus or minus as the answer to the question being asked and
// logs it; it is empty where the press is no answer. Plus counts only once
// the question itself has been said: nobody agrees to what they have not
// heard. Minus always counts.
func (s *Session) answered(btn coach.Button) string {
	after := s.pos - s.origin
	answer := ""
	switch {
	case btn == coach.Minus:
		answer = coach.AnswerNotWell
	case btn == coach.Plus && after >= s.now.open:
		answer = coach.AnswerWell
	}
	if answer != "" {
		s.logAnswer(answer)
	}
	return answer
}

func (s *Session) logAnswer(answer string) {
	s.log(coach.EntryQuestion, &coach.QuestionData{ID: s.now.waits, Answer: answer,
		AfterS: coach.Seconds(s.rate.Duration(max(0, s.pos-s.origin-s.now.prompted)))})
}

// cutTo silences what sounds and goes on with what next begins.
func (s *Session) cutTo(next func(*Session)) {
	s.out.Hush = append(s.out.Hush, s.pos)
	next(s)
}

// beforeItems is the warm-up or, where that was elsewhere, the rest counted
// from the arrival.
func beforeItems(s *Session) {
	switch {
	case s.prog.Part.HasWarmUp() && s.prog.WarmUp > 0 && !s.warm:
		s.begin(guided{coach.CueWarmUp})
	case !s.prog.Part.HasWarmUp():
		s.begin(rest{arrived: true})
	default:
		firstItem(s)
	}
}

// notWell ends a session before any exercise.
type notWell struct{ plain }

func (notWell) build(s *Session, b *builder) {
	b.say(coach.Phrase{ID: coach.SayNotWell})
	b.say(s.callsFor()...)
}
func (notWell) ended(s *Session) {
	s.end(coach.NotStarted)
}

// said says something and goes on.
type said struct {
	plain
	phrase coach.Phrase
	more   []coach.Phrase
	then   func(*Session)
}

func (t said) build(_ *Session, b *builder) {
	b.say(t.phrase)
	b.say(t.more...)
}
func (t said) ended(s *Session) { t.then(s) }
