// Package session is the state machine of a session: a programme, presses and
// a position on the sample clock in; cues and entries out.
//
// It is pure: it starts no goroutine, reads no clock, touches no file and
// knows no words; it asks only how long a phrase takes to say. A session's
// time is the number of samples since it began. The same session runs live,
// offline and in tests, and nothing in it depends on how far it is advanced
// at a time.
//
// A Session is a value: copying it is a snapshot. Everything it points to is
// never changed once made, so the copy can be advanced again from there, as
// the player does when a stop or hold takes back sound nobody heard yet.
//
// Invariants: cues and entries come in order of sample; nothing but the stop
// signal and speech follows a stop; every set starts on a tap; no answer but
// plus leads from a readiness question towards exercise.
package session

import "evenbell/coach"

// Speech tells how long phrases take.
type Speech interface {
	// Length is how many samples p takes to say at coach.SessionRate; 0 for
	// the zero Phrase. It is the same every time it is asked.
	Length(p coach.Phrase) coach.Samples
}

// Teller is a Speech that has the words, too: then they are in the log.
type Teller interface {
	// Text is p as it is spoken.
	Text(p coach.Phrase) string
}

// Output collects what a session does. Fields only ever grow; the caller
// empties them.
type Output struct {
	Cues    []coach.Cue
	Entries []coach.Entry
	// Hush lists samples at which everything that sounds is faded out at
	// once; sounds of cues at that same sample begin after it.
	Hush []coach.Samples
}

// Reset empties o and keeps its memory.
func (o *Output) Reset() { o.Cues, o.Entries, o.Hush = o.Cues[:0], o.Entries[:0], o.Hush[:0] }

// Session is one person's session or, made by NewLobby, what a station does
// between sessions. The zero value is not usable; see New.
type Session struct {
	prog   *coach.Programme // immutable
	lobby  *Lobby           // immutable; nil in a session
	speech Speech
	teller Teller // speech, where it has the words; else nil
	rate   coach.Rate
	state
	out   *Output       // only during Advance and Press
	heard coach.Samples // of the press, only during Press
}

// state is everything that changes.
type state struct {
	pos    coach.Samples // everything before it has been emitted
	step   step          // nil once the session has ended
	now    *passage      // of step; immutable
	origin coach.Samples // of now
	next   int           // first mark of now not yet emitted

	item, set, pass, rep int  // index of item and pass, number of set and repetition
	first                int  // item the session begins with
	warm                 bool // no warm-up is needed: it was done before the power went
	inItem               bool // whether cues and entries belong to the item
	tally                tally
	restFrom             coach.Samples // where the rest began
	reserve              coach.Reserve
	volume               int           // dB
	loudest              int           // dB, the most volume may be
	hinted               bool          // how yes and no are pressed has been said
	asideTo              coach.Samples // end of what was said beside the passage
	early                bool
	itemLed              bool // a repetition of the item has been led
	inSet                bool // a set has started and not ended
	onMat                bool // the patient is down on the mat
	stopped              bool
	goesNext             coach.Next
	looking              bool // nobody answered; the place needs a look
	helped               bool
	outcome              coach.Outcome
	over                 coach.Samples // where the session ended
	choice               Choice        // of a lobby
	chosen, offered      bool
	wrong                int // codes pressed in a lobby that clear nobody
}

// New begins a session at sample 0. The programme must not change afterwards
// and has at least one item; start is logged as it is.
func New(p *coach.Programme, sp Speech, start coach.SessionStartData) *Session {
	s := &Session{prog: p, speech: sp, rate: coach.SessionRate}
	s.teller, _ = sp.(Teller)
	if s.atHome() {
		s.speech = homeSpeech{sp}
	}
	start.Part = p.Part
	s.goesNext, s.loudest = p.Next, loudest
	s.step, s.now = opening{start}, &passage{}
	return s
}

// GoesNext changes where the patient goes after this station. It counts from
// the next time the session speaks of it.
func (s *Session) GoesNext(n coach.Next) { s.goesNext = n }

// GoOn makes a session that has not begun go on at an item, from 0, after the
// power cut it off there: after the readiness questions and, where warmUp is
// true, a new warm-up.
func (s *Session) GoOn(item int, warmUp bool) { s.first, s.warm = item, !warmUp }

// Pos is the sample up to which the session has been advanced.
func (s *Session) Pos() coach.Samples { return s.pos }

// Done reports whether the session has ended and has nothing more to say.
func (s *Session) Done() bool { return s.step == nil }

// End is the sample at which the session ended; meaningful once Done.
func (s *Session) End() coach.Samples { return s.over }

// Outcome is how the session ended; empty before that.
func (s *Session) Outcome() coach.Outcome { return s.outcome }

// Volume is the person's own volume change in dB.
func (s *Session) Volume() int { return s.volume }

// AtMost bounds the person's own volume change to some dB: where the clinic's
// ceiling is, "louder" would be a promise nobody hears kept. It is for a
// session that has not begun.
func (s *Session) AtMost(db int) {
	s.loudest = min(s.loudest, db)
	s.volume = min(s.volume, s.loudest)
}

// Stopped reports whether the red button has been pressed.
func (s *Session) Stopped() bool { return s.stopped }

// NeedsLook reports whether staff should look at this place: the stop lamp
// is lit.
func (s *Session) NeedsLook() bool { return s.stopped || s.looking }

// Waiting is what the session waits for.
type Waiting struct {
	// For is a question id, or one of the words below; empty when the session
	// goes on by itself.
	For string
	// Prompted is where the first prompt has been said to its end.
	Prompted coach.Samples
}

// What a session waits for besides a question id.
const (
	ForReady  = "ready"
	ForEffort = "effort"
	ForResume = "paused"
)

// Waiting tells what the session waits for now.
func (s *Session) Waiting() Waiting {
	if s.step == nil || s.now.waits == "" {
		return Waiting{}
	}
	return Waiting{For: s.now.waits, Prompted: s.origin + s.now.prompted}
}

// Advance emits what happens from the current position up to, not including,
// sample to.
func (s *Session) Advance(to coach.Samples, out *Output) {
	s.out = out
	for s.step != nil {
		if s.next < len(s.now.marks) {
			m := &s.now.marks[s.next]
			if s.origin+m.at >= to {
				break
			}
			s.pos = s.origin + m.at
			s.next++
			s.emit(m)
			continue
		}
		if s.origin+s.now.length >= to {
			break
		}
		s.pos = s.origin + s.now.length
		s.finish()
	}
	s.pos = max(s.pos, to)
	s.out = nil
}

// finish is called at the end of a passage that nobody cut short.
func (s *Session) finish() {
	if s.now.waits != "" && (s.lobby == nil || s.stopped) {
		s.abandon()
		return
	}
	s.step.ended(s)
}

// Press lets b take effect at the current position, before anything else
// that happens there. heard is the sample that was being heard when the
// contact closed.
func (s *Session) Press(b coach.Button, heard coach.Samples, out *Output) {
	if s.step == nil {
		return
	}
	s.out, s.heard = out, heard
	switch s.step.(type) {
	case opening, entering: // pressed before anything: the beginning comes first
		s.finish()
	}
	s.log(coach.EntryPress, &coach.PressData{Button: b, At: s.pos, Heard: heard})
	switch {
	case s.stopped:
		s.step.pressed(s, b)
	case b == coach.Stop && s.practises(b):
		s.practise(b)
	case b == coach.Stop:
		s.stop()
	case s.step.pressed(s, b):
		s.looking = false
	default:
		s.looking = false
		s.anywhere(b)
	}
	s.out = nil
}

// begin starts a step at the current position.
func (s *Session) begin(st step) {
	b := builder{s: s}
	st.build(s, &b)
	s.step, s.now, s.origin, s.next = st, b.done(), s.pos, 0
}

// cut silences what sounds and starts a step at the current position.
func (s *Session) cut(st step) {
	s.out.Hush = append(s.out.Hush, s.pos)
	s.begin(st)
}

// end ends the session where it stands.
func (s *Session) end(o coach.Outcome) {
	s.inItem = false
	s.outcome = o
	s.log(coach.EntrySessionEnd, &coach.SessionEndData{Outcome: o})
	s.step, s.over = nil, s.pos
}

// sounds emits a cue that belongs at the current position, and logs what is
// said with it.
func (s *Session) sounds(c coach.Cue) {
	c.Phrase.AtHome = s.atHome() && c.Phrase.ID != ""
	s.out.Cues = append(s.out.Cues, c)
	if c.Phrase.ID == "" || c.PacesSet() {
		return
	}
	d := &coach.SaidData{Phrase: c.Phrase.ID, DB: float64(s.volume)}
	if s.teller != nil {
		d.Text = s.teller.Text(c.Phrase)
	}
	s.log(coach.EntrySaid, d)
}

// log emits an entry at the current position.
func (s *Session) log(k coach.EntryKind, data any) {
	e := coach.Entry{Sample: s.pos, Kind: k, Tag: s.prog.Tag, Data: data}
	if s.inItem {
		e.Item, e.Exercise, e.Set, e.Rep, e.Side = s.item+1, s.current().Exercise, s.set, s.rep, s.side()
	}
	s.out.Entries = append(s.out.Entries, e)
}

// current is the item being coached.
func (s *Session) current() *coach.Item { return &s.prog.Items[s.item] }

// side is the side of the current pass or, where sides alternate, of the
// current repetition.
func (s *Session) side() coach.Side {
	if s.set == 0 {
		return coach.NoSide
	}
	if s.rep == 0 {
		return s.current().Sides.Passes()[s.pass]
	}
	return s.tempo(1).RepSide(s.rep)
}
