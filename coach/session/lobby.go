package session

import (
	"slices"
	"time"

	"evenbell/coach"
)

// Guest is somebody the station can coach.
type Guest struct {
	Tag  string
	Name string // the call word, or the tag
	// First is the exercise the session begins with, to tell people apart by.
	First *coach.Item
	Held  bool // staff have to be spoken to first
	// Home is of who exercises at home; nil of who does not.
	Home *coach.Home
	// NotToday is why a person at home is not coached today; nil where nothing
	// speaks against it.
	NotToday *NotToday
	// AsksRested is true where no clock tells whether the days between were
	// kept: the person is asked.
	AsksRested bool
	// Refusal is why this person's session can't begin; empty where it can.
	Refusal coach.Trouble
}

// Lobby is what a station does between sessions: it waits for a tap, finds
// out who is there, and stays locked after a stop until staff release it. It
// must not change while a session made from it goes on.
type Lobby struct {
	// Waking is true at the start of the program: the station says that it is
	// on, and what is wrong with it.
	Waking   bool
	Troubles []coach.Trouble
	// Tapped is true where a tap ended the lobby before: this one answers it.
	Tapped bool
	// Refusal is why no session can begin; empty where one can.
	Refusal coach.Trouble
	Guests  []Guest // who is expected next comes first
	// Home is of the first of them, where all exercise at home; else nil.
	Home *coach.Home
	// Broken is the guest whose session the power cut off, by index, and the
	// exercise it can go on with; nil for none.
	Broken *Broken
	// Locked is true while a stop has not been released.
	Locked bool
	// Release is the clinic's own sequence of controls that frees the station;
	// empty where only the desk can.
	Release  []coach.Button
	Patience coach.Patience
	// Codes clear held tags, and free the station too where it is locked; Tries
	// is how many wrong ones are allowed. Offer speaks of them where the station
	// is locked; a hold press then begins one, except where Release begins so.
	Codes []Code
	Tries int
	Offer bool
	// Failed is true once the log takes no more: the station says so again and
	// again, coaches nobody, and its release ends the lobby.
	Failed bool
}

// Broken is a session that the power cut off.
type Broken struct {
	Guest    int
	Item     int // index in the guest's plan
	Exercise string
	// SwitchedOff is true where it was not the power: the program was told to end.
	SwitchedOff bool
}

// Choice is how a lobby ended.
type Choice struct {
	// Tapped is true where somebody tapped: the station looks around anew, so
	// that the plan is the newest, and answers in another lobby.
	Tapped bool
	// Guest is who is to be coached, by index, where Tapped is false.
	Guest  int
	Resume bool // go on where the power cut the session off
	Intro  bool // somebody asked for the introduction; with Tapped
}

// releaseTime is how long a release sequence may take.
const releaseTime = 5 * time.Second

// forWho and what follows are what a lobby waits for.
const (
	ForWho     = "who"
	ForConfirm = "is_it_you"
	ForGoOn    = coach.QuestionGoOn
	ForRested  = coach.QuestionRested
)

// always is a length longer than any wait.
const always = coach.Samples(1) << 60

// NewLobby begins a lobby at sample 0.
func NewLobby(l *Lobby, sp Speech) *Session {
	s := New(&coach.Programme{Patience: l.Patience, Approved: true, Home: l.Home}, sp, coach.SessionStartData{})
	s.lobby = l
	s.stopped = l.Locked || l.Failed
	s.step = entering{}
	return s
}

// Chosen is how a lobby ended, once it is Done; false where it ended because
// its log had failed.
func (s *Session) Chosen() (Choice, bool) { return s.choice, s.chosen }

// entering goes where the lobby begins.
type entering struct{}

func (entering) build(*Session, *builder)            {}
func (entering) pressed(*Session, coach.Button) bool { return false }
func (entering) ended(s *Session) {
	switch l := s.lobby; {
	case l.Waking:
		s.begin(waking{})
	case l.Tapped && !s.stopped:
		s.answerTap()
	default:
		s.settleDown()
	}
}

// settleDown goes to where the station waits.
func (s *Session) settleDown() {
	switch l := s.lobby; {
	case s.stopped:
		s.begin(locked{})
	case l.Broken != nil && l.Refusal == "" && !s.offered:
		s.begin(goOn{})
	default:
		s.begin(idle{})
	}
}

// waking says that the station is on, and what is wrong with it.
type waking struct{ plain }

func (waking) build(s *Session, b *builder) {
	for _, t := range s.lobby.Troubles {
		b.say(coach.Phrase{ID: coach.SayTrouble, Name: string(t)})
	}
	if slices.ContainsFunc(s.lobby.Troubles, needsClinic) {
		b.say(s.rings()...)
	}
	switch l := s.lobby; {
	case l.Refusal != "" || l.Locked:
	case len(l.Guests) == 1 && l.Guests[0].NotToday != nil && l.Broken == nil:
		b.say(l.Guests[0].Says()...)
	default:
		b.say(coach.Phrase{ID: coach.SayReadyHere})
	}
}

// needsClinic reports whether somebody has to be told of a trouble.
func needsClinic(t coach.Trouble) bool {
	return t != coach.TroublePower && t != coach.TroubleSwitchedOff
}

func (waking) ended(s *Session) { s.settleDown() }

// idle waits, in silence and for ever, for a tap, or for hold pressed twice
// within two seconds: then the session begins with the introduction.
type idle struct {
	held bool          // hold was pressed
	at   coach.Samples // when
}

// twice is how long two presses of hold may take. common practice, no source.
const twice = 2 * time.Second

func (idle) build(_ *Session, b *builder) { b.p.length = always }
func (idle) ended(s *Session)             { s.begin(idle{}) }

func (i idle) pressed(s *Session, btn coach.Button) bool {
	switch {
	case btn == coach.Tap:
		s.choose(Choice{Tapped: true})
	case btn == coach.Hold && i.held && s.pos-i.at <= s.rate.At(twice):
		s.choose(Choice{Tapped: true, Intro: true})
	case btn == coach.Hold:
		s.step = idle{held: true, at: s.pos} // the passage goes on as it is
	default:
		return false
	}
	return true
}

// answerTap does what a tap on an idle station asks for.
func (s *Session) answerTap() {
	switch l := s.lobby; {
	case l.Refusal != "":
		s.begin(said{phrase: coach.Phrase{ID: coach.SayTrouble, Name: string(l.Refusal)}, more: s.rings(), then: (*Session).settleDown})
	case l.Broken != nil && !s.offered:
		s.begin(goOn{})
	case len(l.Guests) == 1:
		s.take(0)
	default:
		s.begin(choosing{})
	}
}

// choose ends the lobby.
func (s *Session) choose(c Choice) {
	s.out.Hush = append(s.out.Hush, s.pos)
	s.choice, s.chosen = c, true
	s.step, s.over = nil, s.pos
}

// asksFor makes the passage wait as a question does, but for somebody who may
// only have walked away: unanswered, the lobby falls quiet again.
func (b *builder) asksFor(what string) {
	b.p.mode, b.p.waits, b.p.prompted = modeAsk, what, b.spoken()
	b.p.length = b.p.prompted + b.s.rate.At(b.s.prog.Patience.Look)
}

// choosing goes through the names.
type choosing struct {
	i    int
	next bool // the question itself has been asked
}

func (c choosing) build(s *Session, b *builder) {
	if !c.next {
		b.speak(coach.CueAsk, coach.Phrase{ID: coach.AskWho})
	}
	b.say(coach.Phrase{ID: coach.SayWho, N: c.i + 1, Name: s.lobby.Guests[c.i].Name})
	b.asksFor(ForWho)
}

func (choosing) ended(s *Session) { s.begin(idle{}) }

func (c choosing) pressed(s *Session, btn coach.Button) bool {
	n := len(s.lobby.Guests)
	switch btn {
	case coach.Plus:
		s.cut(choosing{(c.i + 1) % n, true})
	case coach.Minus:
		s.cut(choosing{(c.i + n - 1) % n, true})
	case coach.Tap:
		s.cut(isItYou{c.i})
	default:
		return false
	}
	return true
}

// isItYou confirms the choice by the first exercise and its load.
type isItYou struct{ i int }

func (c isItYou) build(s *Session, b *builder) {
	g := s.lobby.Guests[c.i]
	b.speak(coach.CueAsk, coach.Phrase{ID: coach.AskIsItYou, Name: g.Name, Exercise: g.First.Exercise,
		Load: g.First.Dose.Load, Hands: g.First.Dumbbells})
	b.asksFor(ForConfirm)
}

func (isItYou) ended(s *Session) { s.begin(idle{}) }

func (c isItYou) pressed(s *Session, btn coach.Button) bool {
	switch btn {
	case coach.Tap:
		s.take(c.i)
	case coach.Minus:
		s.cut(choosing{(c.i + 1) % len(s.lobby.Guests), true})
	default:
		return false
	}
	return true
}

// Asks is the question whether to go on.
func (br *Broken) Asks(name string) coach.Phrase {
	p := coach.Phrase{ID: coach.AskGoOn, Name: name, Exercise: br.Exercise}
	if br.SwitchedOff {
		p.N = 1
	}
	return p
}

// goOn offers to go on with a session that the power cut off.
type goOn struct{}

func (goOn) build(s *Session, b *builder) {
	s.offered = true
	br := s.lobby.Broken
	b.speak(coach.CueAsk, br.Asks(s.lobby.Guests[br.Guest].Name))
	b.asksFor(ForGoOn)
	b.p.open = b.p.prompted
}

func (goOn) ended(s *Session) { s.begin(idle{}) }

func (goOn) pressed(s *Session, btn coach.Button) bool {
	switch btn {
	case coach.Plus:
		s.logAnswer(coach.AnswerWell)
		s.choose(Choice{Guest: s.lobby.Broken.Guest, Resume: true})
	case coach.Minus:
		s.logAnswer(coach.AnswerNotWell)
		if s.lobby.Tapped {
			s.cutTo((*Session).answerTap)
		} else {
			s.cut(idle{})
		}
	default:
		return false
	}
	return true
}

// locked waits until staff release the station. The red button works here,
// too.
type locked struct {
	got   int           // controls of the release sequence pressed so far
	began coach.Samples // the first of them
	quiet bool          // it has been said
}

func (l locked) build(s *Session, b *builder) {
	switch {
	case s.lobby.Failed:
		b.say(coach.Phrase{ID: coach.SayTrouble, Name: string(coach.TroubleLogFailed)})
		b.wait(failedEvery)
		return
	case !l.quiet:
		b.say(coach.Phrase{ID: coach.SayPlaceLocked})
		b.say(s.rings()...)
		if s.lobby.Offer && s.mayTry() {
			b.say(coach.Phrase{ID: coach.SayCodeOffer})
		}
	}
	b.p.length = always
}

// failedEvery is how often a station whose log has failed says so.
const failedEvery = time.Minute

func (locked) ended(s *Session) { s.begin(locked{quiet: true}) }

func (l locked) pressed(s *Session, btn coach.Button) bool {
	seq := s.lobby.Release
	switch {
	case btn == coach.Stop:
		s.stop()
		return true
	case len(seq) > 0 && l.got > 0 && s.pos-l.began <= s.rate.At(releaseTime) && btn == seq[l.got]:
		l.got++
	case len(seq) > 0 && btn == seq[0]:
		l.got, l.began = 1, s.pos
	case btn == coach.Hold && s.mayTry():
		s.cut(code{})
		return true
	case s.speaking() < 0:
		s.cut(locked{})
		return true
	default:
		l.got = 0
	}
	if l.got > 0 && l.got == len(seq) {
		s.release("box")
		return true
	}
	l.quiet = true
	s.step = l // the passage goes on as it is
	return true
}

// release frees the station after a stop.
func (s *Session) release(by string) {
	s.log(coach.EntryRelease, &coach.ReleaseData{By: by})
	if s.lobby.Failed {
		s.out.Hush = append(s.out.Hush, s.pos)
		s.step, s.over = nil, s.pos
		return
	}
	s.stopped, s.looking, s.helped = false, false, false
	s.cut(said{phrase: coach.Phrase{ID: coach.SayReleased}, then: (*Session).settleDown})
}
