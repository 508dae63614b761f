package picture

import (
	"fmt"

	"evenbell/coach"
)

// record is a session put in order for drawing. Everything in it is in order
// of sample.
type record struct {
	prog      *coach.Programme
	end       coach.Samples
	outcome   coach.Outcome // empty where the record breaks off
	chapters  []chapter
	stretches []stretch
	sets      []setDone
	reps      []repDone
	phases    []coach.Cue // lift, top, lower, bottom
	small     []coach.Cue // beats, count-in, breathing, sentences
	flags     []flag
	stops     []coach.Samples
	begun     map[int]bool // numbers of items begun
}

// setDone is one set on one side, as it was led.
type setDone struct {
	from, to       coach.Samples
	entry          coach.Entry // its set_start
	of             int
	led, confirmed int
	ended          string
}

// repDone is one repetition, led to its end or broken off.
type repDone struct {
	from, to  coach.Samples
	n         int
	side      coach.Side
	led       bool
	confirmed bool
	last      bool // announced as the last one
}

// reader makes a record from cues and entries as they follow one another.
type reader struct {
	record
	now    stretch
	held   stretch // what a pause interrupted
	inRep  bool    // the last of reps is under way
	last   int     // the repetition announced as the last one
	inSet  bool    // the last of sets is under way
	asked  int     // index of the flag of the open question, or -1
	askID  string
	setsOf int // of the current item
}

// read puts a session in order. Where a cue and an entry share a sample the
// entry comes first: it closes what the cue follows.
func read(prog *coach.Programme, cues []coach.Cue, entries []coach.Entry) record {
	b := &reader{asked: -1}
	b.begun = map[int]bool{}
	b.prog = prog
	b.chapters = []chapter{{title: "Before the exercises"}}
	b.now = stretch{kind: talk, scale: scaleOf(talk)}
	for len(cues) > 0 || len(entries) > 0 {
		if len(cues) == 0 || (len(entries) > 0 && entries[0].Sample <= cues[0].At) {
			b.entry(&entries[0])
			entries = entries[1:]
			continue
		}
		b.cue(cues[0])
		cues = cues[1:]
	}
	b.answered("")
	b.endRep(b.end)
	b.endSet(b.end, "the record breaks off")
	b.close(b.end)
	return b.record
}

// entry takes one entry in.
func (b *reader) entry(e *coach.Entry) {
	if e.Kind == coach.EntryRelease || e.Kind == coach.EntryStart {
		return // not on the session's sample clock
	}
	at := e.Sample
	b.end = max(b.end, at)
	switch d := e.Data.(type) {
	case *coach.PressData:
		b.press(d)
	case *coach.QuestionData:
		b.answered(answerWords(d.Answer))
	case *coach.EffortData:
		b.effort(e, d.Reserve)
	case *coach.ItemStartData:
		b.item(e, d)
	case *coach.RepData:
		b.rep(e, d.Confirmed)
	case *coach.SetEndData:
		b.setEnd(at, d)
	case *coach.SkipData:
		b.skip(e, d)
	case *coach.VolumeData:
		b.because(at, volumeWord+" "+signed(d.DB)+" dB")
	case *coach.FaultData:
		b.note(at, d.Part+" fault: "+d.Detail)
	case *coach.NoAnswerData:
		b.unanswered(at, d)
	case *coach.SessionEndData:
		b.outcome = d.Outcome
	default:
		b.plain(e)
	}
}

// plain takes in an entry without data.
func (b *reader) plain(e *coach.Entry) {
	at := e.Sample
	switch e.Kind {
	case coach.EntrySetStart:
		b.because(at, "begin")
		b.sets = append(b.sets, setDone{from: at, to: at, entry: *e, of: b.setsOf})
		b.inSet, b.last = true, 0
		b.turn(at, set, 0)
	case coach.EntryPause:
		b.because(at, "pause")
		b.endRep(at)
		b.pause(at)
	case coach.EntryResume:
		b.because(at, "go on")
		b.resume(at)
	case coach.EntryStop:
		b.because(at, "stop")
		b.stops = append(b.stops, at)
		b.endRep(at)
		b.turn(at, stopped, 0)
	}
}

// item begins the chapter of an exercise.
func (b *reader) item(e *coach.Entry, d *coach.ItemStartData) {
	b.setsOf = d.Sets
	b.begun[e.Item] = true
	title := fmt.Sprintf("%d of %d · %s", e.Item, len(b.prog.Items), spaced(e.Exercise))
	b.open(e.Sample, chapter{title: title, dose: doseWords(d)})
}

// rep closes the repetition under way as led.
func (b *reader) rep(e *coach.Entry, confirmed bool) {
	if !b.inRep {
		b.reps = append(b.reps, repDone{from: e.Sample, n: e.Rep, side: e.Side})
	}
	r := &b.reps[len(b.reps)-1]
	r.to, r.led, r.confirmed, b.inRep = e.Sample, true, confirmed, false
}

// endRep closes the repetition under way as broken off.
func (b *reader) endRep(at coach.Samples) {
	if b.inRep {
		b.reps[len(b.reps)-1].to, b.inRep = at, false
	}
}

func (b *reader) setEnd(at coach.Samples, d *coach.SetEndData) {
	if d.Ended == coach.EndedEnough {
		b.because(at, "enough")
	}
	b.endRep(at)
	if b.inSet {
		s := &b.sets[len(b.sets)-1]
		s.led, s.confirmed = d.Led, d.Confirmed
		b.endSet(at, endingWords(d.Ended))
	}
	b.leave(at, set, paused)
}

// endSet closes the set under way.
func (b *reader) endSet(at coach.Samples, how string) {
	if b.inSet {
		s := &b.sets[len(b.sets)-1]
		s.to, s.ended, b.inSet = at, how, false
	}
}

func (b *reader) skip(e *coach.Entry, d *coach.SkipData) {
	at := e.Sample
	b.endRep(at)
	if b.inSet {
		b.sets[len(b.sets)-1].led = d.Led
	}
	b.endSet(at, "left out")
	b.because(at, "leave out "+spaced(e.Exercise))
	b.leave(at, set, paused, rest, waiting)
}

// effort answers the effort question and notes it beside the exercise.
func (b *reader) effort(e *coach.Entry, r coach.Reserve) {
	b.answered(reserveWords(r))
	c := &b.chapters[len(b.chapters)-1]
	if c.took != "" {
		c.took += ", "
	} else {
		c.took = "in reserve: "
	}
	c.took += reserveWords(r)
}

// unanswered notes that nobody answers; a stop or a pause stays what it is.
func (b *reader) unanswered(at coach.Samples, d *coach.NoAnswerData) {
	b.note(at, "no answer: needs a look")
	switch b.now.kind {
	case stopped:
		b.turn(at, stopped, 0)
		b.now.scale = quarterScale
	case talk:
		b.turn(at, waiting, 0)
	}
}

// cue takes one cue in.
func (b *reader) cue(c coach.Cue) {
	b.end = max(b.end, c.At)
	switch c.Kind {
	case coach.CueWarmUp, coach.CueRest:
		b.timer(c)
	case coach.CueCoolDown:
		b.open(c.At, chapter{title: "After the exercises"})
		b.timer(c)
	case coach.CueTimerEnd, coach.CueRestEnd:
		b.leave(c.At, warmUp, coolDown, rest)
	case coach.CueLift, coach.CueTop, coach.CueLower, coach.CueBottom:
		b.phases = append(b.phases, c)
		if !b.inRep || b.reps[len(b.reps)-1].n != c.Rep {
			b.endRep(c.At)
			b.reps = append(b.reps, repDone{from: c.At, to: c.At, n: c.Rep, side: c.Side, last: c.Rep == b.last})
			b.inRep, b.last = true, 0
		}
	case coach.CueAsk:
		b.ask(c)
	case coach.CueReady:
		b.flags = append(b.flags, flag{at: c.At, kind: askFlag, label: "ready?", says: c.Phrase})
	case coach.CueSay:
		b.say(c)
	default:
		b.small = append(b.small, c)
	}
}

// timer begins a stretch led by time alone.
func (b *reader) timer(c coach.Cue) {
	if c.Length > 0 {
		b.turn(c.At, map[coach.CueKind]kind{coach.CueWarmUp: warmUp, coach.CueRest: rest, coach.CueCoolDown: coolDown}[c.Kind], c.Length)
	}
}

// say takes a sentence in; some sentences end a pause or a wait.
func (b *reader) say(c coach.Cue) {
	b.small = append(b.small, c)
	switch c.Phrase.ID {
	case coach.SayLastOne:
		b.last = c.Rep
	case coach.SayEnoughDone:
		b.because(c.At, "end the exercises")
		b.leave(c.At, paused, waiting)
	case coach.SaySkip, coach.SayAbandoned:
		b.leave(c.At, paused, waiting)
	}
}
