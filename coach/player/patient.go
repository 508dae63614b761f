package player

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/session"
)

// afterPrompt is how long a willing patient takes to answer.
const afterPrompt = 500 * time.Millisecond

// answer is the patient's next press by itself, if it will make one.
func (p *Player) answer(now coach.Samples) (coach.Button, coach.Samples, bool) {
	if p.cfg.Patient != Willing {
		return "", 0, false
	}
	w := p.sess.Waiting()
	b, ok := wellAnswer(w.For)
	return b, max(now, w.Prompted+coach.SessionRate.At(afterPrompt)), ok
}

// wellAnswer is what a well person answers. Going on after a pause is nobody's
// answer: who paused goes on.
func wellAnswer(waiting string) (coach.Button, bool) {
	switch waiting {
	case "", session.ForResume:
		return "", false
	case session.ForReady, session.ForEffort, coach.QuestionSymptom:
		return coach.Tap, true
	}
	return coach.Plus, true
}
