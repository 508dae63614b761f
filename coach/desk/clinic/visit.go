package clinic

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/session"
)

// Mishap is something that goes otherwise than planned at one visit.
type Mishap string

// The mishaps.
const (
	NoMishap      Mishap = ""
	StopInSet     Mishap = "stop"      // presses the red button in the third exercise and names a symptom
	NotWellToday  Mishap = "not well"  // says so at the first question
	FeltAfterward Mishap = "afterward" // says at the end that something was felt
	LeavesOut     Mishap = "leaves out"
	WalksAway     Mishap = "walks away"
)

// visitor presses the buttons of one session.
type visitor struct {
	body   *body
	r      *rand.Rand
	taps   bool // confirms each repetition
	mishap Mishap
	before int // exercises done at other places of the same visit

	sess *session.Session
	seen int // of out.Entries
	cues int // of out.Cues
	out  session.Output
	next []coach.Press // planned, in order
	item coach.ItemStartData
	what string // the exercise
	at   int    // its number in the plan, those at other places before it counted
	left float64
	done bool // the mishap has happened
}

// step is how far a session goes on between two looks of its patient.
const step = 200 * time.Millisecond

// visit leads one whole session and gives its entries, without numbers and
// dates, and its length.
func visit(prog *coach.Programme, sp session.Speech, start coach.SessionStartData, v *visitor) ([]coach.Entry, coach.Samples) {
	v.sess = session.New(prog, sp, start)
	for !v.sess.Done() {
		v.look()
		to := v.sess.Pos() + coach.SessionRate.At(step)
		if len(v.next) > 0 && v.next[0].At <= to {
			p := v.next[0]
			v.next = v.next[1:]
			v.sess.Advance(p.At, &v.out)
			if !v.sess.Done() {
				v.sess.Press(p.Button, p.At, &v.out)
			}
			continue
		}
		v.sess.Advance(to, &v.out)
	}
	return v.out.Entries, v.sess.End()
}

// look is the patient noticing what happened and deciding what to press.
func (v *visitor) look() {
	for ; v.seen < len(v.out.Entries); v.seen++ {
		v.notice(&v.out.Entries[v.seen])
	}
	for ; v.cues < len(v.out.Cues); v.cues++ {
		v.hear(&v.out.Cues[v.cues])
	}
	if w := v.sess.Waiting(); w.For != "" && len(v.next) == 0 {
		if b, ok := v.answer(w.For); ok {
			v.press(b, max(v.sess.Pos(), w.Prompted)+v.seconds(0.5, 2.5))
		}
	}
}

func (v *visitor) notice(e *coach.Entry) {
	switch d := e.Data.(type) {
	case *coach.ItemStartData:
		v.item, v.what, v.at = *d, e.Exercise, v.before+e.Item
		v.body.meet(e.Exercise, d.Load, d.Reps)
		v.left = v.body.left(e.Exercise, d.Load, d.Reps)
	case *coach.SetEndData:
		v.next = nil // nobody confirms what is over
		if d.Ended == coach.EndedComplete && e.Set == v.item.Sets {
			v.body.trained(e.Exercise)
		}
	}
}

// hear plans what a person does in a set: taps, giving up, or the mishap.
func (v *visitor) hear(c *coach.Cue) {
	if c.Kind != coach.CueLift {
		return
	}
	last := v.item.Reps + int(v.left)
	switch {
	case v.mishap == StopInSet && !v.done && v.at == 3 && c.Rep == 4:
		v.done = true
		v.next = nil
		v.press(coach.Stop, c.At+v.seconds(0.3, 1.2))
	case v.mishap == WalksAway && v.at == 3:
	case v.left < 0 && c.Rep > last:
		if len(v.next) == 0 {
			v.press(coach.Minus, c.At+v.seconds(0.4, 1.4))
		}
	case v.taps && v.r.Float64() < 0.9:
		v.press(coach.Tap, c.At+coach.SessionRate.At(2*time.Second)+v.seconds(-0.25, 0.35))
	}
}

func (v *visitor) answer(waiting string) (coach.Button, bool) {
	switch {
	case v.mishap == WalksAway && v.at >= 3 && waiting != session.ForEffort:
		return "", false
	case v.mishap == NotWellToday && waiting == coach.QuestionWell:
		return coach.Minus, true
	case v.mishap == FeltAfterward && waiting == coach.QuestionClosing:
		return coach.Minus, true
	case v.mishap == LeavesOut && waiting == session.ForReady && v.at == 4 && !v.done:
		v.done = true
		return coach.Hold, true
	case waiting == session.ForResume:
		return coach.Minus, true
	case waiting == session.ForReady, waiting == coach.QuestionSymptom:
		return coach.Tap, true
	case waiting == session.ForEffort:
		return v.effort(), true
	}
	return coach.Plus, true
}

func (v *visitor) effort() coach.Button {
	switch v.body.names(math.Max(v.left, 0)) {
	case coach.ReserveNone:
		return coach.Minus
	case coach.ReserveFew:
		return coach.Tap
	}
	return coach.Plus
}

// press plans a press; presses stay in order of time.
func (v *visitor) press(b coach.Button, at coach.Samples) {
	v.next = append(v.next, coach.Press{Button: b, At: max(at, v.sess.Pos()), Heard: at})
	slices.SortStableFunc(v.next, func(a, b coach.Press) int { return int(a.At - b.At) })
}

// seconds is a time between two bounds, as people vary.
func (v *visitor) seconds(low, high float64) coach.Samples {
	return coach.Samples((low + (high-low)*v.r.Float64()) * float64(coach.SessionRate))
}
