package picture

import "evenbell/coach"

// kind is what goes on in a stretch of the session.
type kind string

// The kinds of stretch.
const (
	talk     kind = "talk" // announcements, questions, waiting for a tap
	set      kind = "set"  // from the tap to the end of the set
	warmUp   kind = "warm-up"
	rest     kind = "rest"
	coolDown kind = "cool-down"
	paused   kind = "paused"
	waiting  kind = "no answer" // nobody answers
	stopped  kind = "after the stop"
)

// The scales, in pixels a second.
const (
	fullScale    = 8
	halfScale    = fullScale / 2
	quarterScale = fullScale / 4
)

// stretch is a part of the session in which one thing goes on.
type stretch struct {
	kind     kind
	scale    int // pixels a second
	from, to coach.Samples
	planned  coach.Samples // how long a timer was to be; 0 for none
	chapter  int           // index
}

func scaleOf(k kind) int {
	switch k {
	case set:
		return fullScale
	case talk, stopped:
		return halfScale
	}
	return quarterScale
}

// wide is how wide n samples are drawn at a scale.
func wide(n coach.Samples, scale int) px {
	rate := int64(coach.SessionRate)
	return px((int64(n)*int64(scale)*10 + rate/2) / rate)
}

// fits is how many samples fit into a width at a scale.
func fits(w px, scale int) coach.Samples {
	return coach.Samples(int64(w) * int64(coach.SessionRate) / int64(scale*10))
}

// chapter is what begins a row of its own: what comes before the exercises,
// one exercise, what comes after them.
type chapter struct {
	title string
	dose  string // what was to be done
	took  string // what was said of it
}

// turn ends the current stretch and begins another.
func (b *reader) turn(at coach.Samples, k kind, planned coach.Samples) {
	b.close(at)
	b.now = stretch{kind: k, scale: scaleOf(k), from: at, planned: planned, chapter: len(b.chapters) - 1}
}

// close ends the current stretch.
func (b *reader) close(at coach.Samples) {
	if at > b.now.from {
		b.now.to = at
		b.stretches = append(b.stretches, b.now)
	}
}

// open begins a chapter; what was going on goes on.
func (b *reader) open(at coach.Samples, c chapter) {
	k, planned := b.now.kind, b.now.planned
	b.close(at)
	b.chapters = append(b.chapters, c)
	b.now.from = at // already closed
	b.turn(at, k, planned)
}

// pause holds what was going on.
func (b *reader) pause(at coach.Samples) {
	if b.now.kind != paused {
		b.held = b.now
	}
	b.turn(at, paused, 0)
}

// resume goes on with what was held.
func (b *reader) resume(at coach.Samples) {
	if b.now.kind == paused {
		b.turn(at, b.held.kind, b.held.planned)
	}
}

// leave ends a stretch of one of the given kinds; talk follows.
func (b *reader) leave(at coach.Samples, kinds ...kind) {
	for _, k := range kinds {
		if b.now.kind == k {
			b.turn(at, talk, 0)
			return
		}
	}
}
