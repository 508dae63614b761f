package session

import (
	"time"

	"evenbell/coach"
)

// guided is a stretch led by time: the warm-up or the cool-down.
type guided struct{ kind coach.CueKind }

// tips is how many pieces of advice a guided stretch has.
const tips = 4

// words are the phrases of the stretch: how it begins, its advice, its end.
func (g guided) words() (begin, tip, end coach.PhraseID) {
	if g.kind == coach.CueWarmUp {
		return coach.SayWarmUp, coach.SayWarmUpTip, coach.SayWarmUpEnd
	}
	return coach.SayCoolDown, coach.SayCoolDownTip, coach.SayCoolDownEnd
}

func (g guided) duration(s *Session) time.Duration {
	if g.kind == coach.CueWarmUp {
		return s.prog.WarmUp
	}
	return s.prog.CoolDown
}

// build spreads the advice evenly, and names the time left at half time and
// a minute before the end.
func (g guided) build(s *Session, b *builder) {
	d, total := g.duration(s), s.rate.At(g.duration(s))
	begin, tip, _ := g.words()
	b.timer(g.kind, total)
	b.say(coach.Phrase{ID: begin, Seconds: int(d / time.Second)})
	for i := range tips {
		b.at = max(b.at, s.rate.At(d*time.Duration(i)/tips))
		if i == tips/2 {
			b.sayWithin(total, coach.Phrase{ID: coach.SayTimeLeft, Seconds: int(d / 2 / time.Second)})
		}
		b.sayWithin(total, coach.Phrase{ID: tip, N: i + 1})
	}
	if d > 2*time.Minute {
		b.at = max(b.at, s.rate.At(d-time.Minute))
		b.sayWithin(total, coach.Phrase{ID: coach.SayTimeLeft, Seconds: 60})
	}
	b.timerEnd(total, coach.CueTimerEnd)
}

func (guided) pressed(*Session, coach.Button) bool { return false }

func (g guided) ended(s *Session) {
	_, _, end := g.words()
	if g.kind == coach.CueWarmUp {
		s.log(coach.EntryWarmUpEnd, nil)
		s.begin(said{phrase: coach.Phrase{ID: end}, then: firstItem})
		return
	}
	s.log(coach.EntryCoolDownEnd, nil)
	s.begin(said{phrase: coach.Phrase{ID: end}, then: closingQuestion})
}

// timer makes the passage last total under a cue of its kind.
func (b *builder) timer(k coach.CueKind, total coach.Samples) {
	b.p.mode, b.p.length = modeTimer, total
	c := b.cue(k)
	c.Length = total
	b.put(0, c)
	b.wait(chime)
}

// timerEnd puts the cue that ends a timer at its end.
func (b *builder) timerEnd(total coach.Samples, k coach.CueKind) { b.put(total, b.cue(k)) }

// sayWithin adds a sentence where it ends before a limit, and otherwise
// leaves it out.
func (b *builder) sayWithin(limit coach.Samples, p coach.Phrase) {
	if b.at+b.s.speech.Length(p) <= limit {
		b.say(p)
	}
}
