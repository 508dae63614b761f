package main

import (
	"fmt"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/session"
)

// view follows what has been heard, and says where the session stands.
type view struct {
	prog *coach.Programme
	text func(coach.Phrase) string

	at      coach.Samples
	cue     coach.Cue // the phase or timer going on; zero for none
	item    int       // from 0; −1 before the first
	set     int
	rep     int
	side    coach.Side
	said    string
	waiting string
	look    bool
	paused  bool
	stopped bool
	outcome coach.Outcome
	sink    string
	warning string
}

func newView(prog *coach.Programme, text func(coach.Phrase) string) *view {
	return &view{prog: prog, text: text, item: -1}
}

// apply takes in an event.
func (v *view) apply(e *player.Event) {
	switch {
	case e.Note.Sink != "":
		v.sink, v.warning = e.Note.Sink, ""
		return
	case e.Note.Lost != "":
		v.warning = "The sound has gone (" + e.Note.Lost + "). The session holds until it is back."
		return
	case e.Note.Underruns > 0:
		v.warning = fmt.Sprintf("The sound ran dry %d time%s on this device.", e.Note.Underruns, plural(e.Note.Underruns))
		return
	}
	v.at = e.To
	v.waiting, v.look = e.Waiting, e.Look
	for i := range e.Cues {
		v.heardCue(&e.Cues[i])
	}
	for i := range e.Entries {
		v.heardEntry(&e.Entries[i])
	}
}

func (v *view) heardCue(c *coach.Cue) {
	if t := v.text(c.Phrase); t != "" {
		v.said = t
	}
	switch c.Kind {
	case coach.CueLift, coach.CueTop, coach.CueLower, coach.CueBottom, coach.CueRest, coach.CueWarmUp, coach.CueCoolDown:
		v.cue = *c
		v.rep, v.side = c.Rep, c.Side
	case coach.CueCountIn:
		v.cue = coach.Cue{}
	case coach.CuePause:
		v.paused = true
	case coach.CueResume:
		v.paused = false
	case coach.CueStop:
		v.stopped, v.said = true, ""
	case coach.CueSetEnd, coach.CueRestEnd, coach.CueTimerEnd, coach.CueDone:
		v.cue, v.rep = coach.Cue{}, 0
	}
}

func (v *view) heardEntry(e *coach.Entry) {
	switch e.Kind {
	case coach.EntryItemStart:
		v.item, v.set = e.Item-1, 1
		v.cue, v.rep, v.side = coach.Cue{}, 0, coach.NoSide
	case coach.EntrySetStart:
		v.set, v.side = e.Set, e.Side
	case coach.EntrySkip, coach.EntryStop:
		v.cue, v.rep, v.paused = coach.Cue{}, 0, false
	case coach.EntryWarmUpEnd, coach.EntryCoolDownEnd:
		v.cue = coach.Cue{}
	case coach.EntrySessionEnd:
		v.outcome = e.Data.(*coach.SessionEndData).Outcome
	}
}

// left is what remains of the phase or timer going on.
func (v *view) left() time.Duration { return max(0, (v.cue.At + v.cue.Length - v.at).Time()) }

// doing is one line that says what is going on.
func (v *view) doing() string {
	switch {
	case v.stopped && v.waiting == coach.QuestionSymptom:
		return "STOPPED. " + waitingWords(v.waiting)
	case v.stopped:
		return "STOPPED"
	case v.outcome != "":
		return "The session is over: " + strings.ReplaceAll(string(v.outcome), "_", " ")
	case v.paused:
		return "Paused"
	case v.cue.Kind == coach.CueWarmUp:
		return "Warm-up, " + clock(v.left()) + " left"
	case v.cue.Kind == coach.CueCoolDown:
		return "Cool-down, " + clock(v.left()) + " left"
	case v.cue.Kind == coach.CueRest:
		return "Rest, " + clock(v.left()) + " left"
	case v.rep > 0 && v.item >= 0:
		return fmt.Sprintf("Repetition %d of %d, %s", v.rep, v.prog.Items[v.item].Dose.Reps, v.cue.Kind)
	case v.waiting != "":
		return waitingWords(v.waiting)
	}
	return "Listen"
}

// waitingWords says what the station waits for.
func waitingWords(waiting string) string {
	switch waiting {
	case session.ForReady:
		return "Waiting for the tap that starts the set"
	case session.ForEffort:
		return "How many more could you have done?"
	case coach.QuestionSymptom:
		return "Tap what you feel when it is named"
	case session.ForResume:
		return "Paused"
	}
	return "A question: plus for yes, minus for no"
}

// exercise is one line that says which exercise it is.
func (v *view) exercise() string {
	if v.item < 0 {
		return ""
	}
	it := &v.prog.Items[v.item]
	s := fmt.Sprintf("%s  %d of %d   set %d of %d   %s", strings.ReplaceAll(it.Exercise, "-", " "),
		v.item+1, len(v.prog.Items), v.set, it.Dose.Sets, it.Dose.Load)
	if v.side == coach.Left || v.side == coach.Right {
		s += "   " + string(v.side)
	}
	return s
}

// bar shows how far the movement is: full at the top of the lift.
func (v *view) bar(width int) string {
	if v.cue.Length == 0 {
		return ""
	}
	done := min(max(v.at-v.cue.At, 0), v.cue.Length)
	n := int(done * coach.Samples(width) / v.cue.Length)
	switch v.cue.Kind {
	case coach.CueLower, coach.CueRest, coach.CueWarmUp, coach.CueCoolDown:
		n = width - n
	case coach.CueTop:
		n = width
	case coach.CueBottom:
		n = 0
	}
	return strings.Repeat("=", n) + strings.Repeat(".", width-n)
}
