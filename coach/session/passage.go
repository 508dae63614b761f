package session

import (
	"sort"
	"time"

	"evenbell/coach"
)

// step is one stretch of a session: what it says and sounds, what follows it,
// and what presses do in it. Steps are values and never change.
type step interface {
	// build lays the passage out from its origin.
	build(s *Session, b *builder)
	// ended begins the next step where the passage has come to its end.
	ended(s *Session)
	// pressed acts on any press but stop, and reports whether it did.
	pressed(s *Session, btn coach.Button) bool
}

// mode says what hold does in a passage.
type mode int

const (
	modeTalk  mode = iota // hold: say the sentence again, the rest follows later
	modeTimer             // hold: say it again, the time left waits; in silence pause
	modeAsk               // hold: ask from the beginning
	modeLed               // hold: pause at once
)

// passage is a stretch of a session laid out from its origin. It never
// changes once made.
type passage struct {
	mode     mode
	marks    []mark        // in order of at
	length   coach.Samples // it ends here by itself
	waits    string        // what it waits for; its end is then the end of patience
	prompted coach.Samples // where the first prompt has been said
	open     coach.Samples // from here an answer other than minus counts
	named    []named       // symptoms, in order of at
}

// named is a symptom that a tap takes once it has been named.
type named struct {
	at coach.Samples
	s  coach.Symptom
}

// mark is one thing that happens in a passage.
type mark struct {
	at  coach.Samples
	act act
	cue coach.Cue     // for sound; At is filled in when it is emitted
	len coach.Samples // of what is said
}

// act says what a mark does.
type act int

const (
	sound    act = iota // emit the cue
	repStart            // a repetition begins
	repEnd              // a repetition ends
	noAnswer            // nobody answered
)

func (s *Session) emit(m *mark) {
	switch m.act {
	case sound:
		c := m.cue
		c.At = s.pos
		s.sounds(c)
	case repStart:
		s.rep = m.cue.Rep
		s.tally.begin()
	case repEnd:
		s.endRep()
	case noAnswer:
		s.looking = true
		s.log(coach.EntryNoAnswer, &coach.NoAnswerData{Waiting: s.now.waits})
	}
}

// pauseBetween is the silence between two sentences.
const pauseBetween = 350 * time.Millisecond

// chime is the room a cue's own sound has before anything is said.
const chime = 600 * time.Millisecond

// builder lays a passage out. at moves on as sentences are added.
type builder struct {
	s  *Session
	p  passage
	at coach.Samples
}

// cue makes a cue that belongs where the session stands.
func (b *builder) cue(k coach.CueKind) coach.Cue {
	s := b.s
	c := coach.Cue{Kind: k, Tag: s.prog.Tag}
	if s.inItem {
		c.Exercise, c.Set, c.Side = s.current().Exercise, s.set, s.side()
	}
	return c
}

// put adds a cue at a sample of the passage, with what is said there.
func (b *builder) put(at coach.Samples, c coach.Cue) {
	b.p.marks = append(b.p.marks, mark{at: at, cue: c, len: b.s.speech.Length(c.Phrase)})
}

// do adds an act at a sample of the passage.
func (b *builder) do(at coach.Samples, a act, c coach.Cue) {
	b.p.marks = append(b.p.marks, mark{at: at, act: a, cue: c})
}

// speak adds a sentence under a cue kind and moves on past it.
func (b *builder) speak(k coach.CueKind, p coach.Phrase) {
	c := b.cue(k)
	c.Phrase = p
	b.put(b.at, c)
	b.at += b.s.speech.Length(p) + b.s.rate.At(pauseBetween)
}

// say adds sentences.
func (b *builder) say(ps ...coach.Phrase) {
	for _, p := range ps {
		b.speak(coach.CueSay, p)
	}
}

// wait moves on by a silence.
func (b *builder) wait(d time.Duration) { b.at += b.s.rate.At(d) }

// spoken is where the last sentence ends.
func (b *builder) spoken() coach.Samples { return max(0, b.at-b.s.rate.At(pauseBetween)) }

// question makes the passage wait for an answer to what prompt says: asked
// again after a while, then said aloud to the room, in the end given up. An
// answer counts from open, a sample of the passage; minus always does.
func (b *builder) question(waits string, open coach.Samples, prompt func()) {
	wait := b.s.prog.Patience
	b.p.mode, b.p.waits, b.p.open = modeAsk, waits, open
	b.p.prompted = b.spoken()
	after := func(d time.Duration) coach.Samples { return b.p.prompted + b.s.rate.At(d) }
	b.at = after(wait.Repeat)
	prompt()
	b.do(after(wait.Look), noAnswer, coach.Cue{})
	b.at = max(b.at, after(wait.Look))
	b.say(coach.Phrase{ID: coach.SayNeedsLook})
	b.p.length = max(b.at, after(wait.Look+wait.Abandon))
}

// done closes the passage. Without a length of its own it ends after its
// last sentence and a pause.
func (b *builder) done() *passage {
	if b.p.length == 0 {
		b.p.length = b.at
	}
	sort.SliceStable(b.p.marks, func(i, j int) bool { return b.p.marks[i].at < b.p.marks[j].at })
	return &b.p
}
