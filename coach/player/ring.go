package player

import "evenbell/coach"

// kept is how many places a live player can go back to: at 10 ms a block
// more than half a second, longer than any device holds back.
const kept = 64

// ring keeps the states a live player can go back to, oldest first overwritten.
type ring struct {
	states []state // empty until the first mark
	n      int     // marks made so far
}

func (r *ring) mark(s *state) {
	if r.states == nil {
		r.states = make([]state, kept)
	}
	r.states[r.n%kept] = *s
	r.n++
}

// before finds the latest state whose session had not passed a sample.
func (r *ring) before(at coach.Samples) *state {
	for i := r.n - 1; i >= max(0, r.n-kept); i-- {
		if s := &r.states[i%kept]; s.sess.Pos() <= at {
			return s
		}
	}
	return nil
}

// Mark remembers this place, so that the player can go back to it.
func (p *Player) Mark() { p.marks.mark(&p.state) }

// Press lets a control take effect at the next sample not yet rendered.
func (p *Player) Press(b coach.Button, heard coach.Samples) { p.press(b, heard) }

// PressAt takes back what was rendered from sample at on, lets a control take
// effect there, and makes at the next sample that Render gives. It reports
// false, and lets the control take effect at the next sample not yet rendered,
// where at lies before the oldest mark.
func (p *Player) PressAt(b coach.Button, at, heard coach.Samples) bool {
	return p.actAt(at, func() { p.press(b, heard) })
}

// Interrupt takes back what was rendered from sample at on, because the sound
// stopped there, and lets the session hold.
func (p *Player) Interrupt(at coach.Samples, detail string) bool {
	return p.actAt(at, func() {
		p.sess.Interrupt(detail, &p.out)
		p.sound()
	})
}

func (p *Player) actAt(at coach.Samples, act func()) bool {
	s := p.marks.before(at)
	if s == nil {
		act()
		return false
	}
	heard := p.fresh.until(at)
	p.state = *s
	for n := int(at) - int(p.mix.Pos()); n > 0; n -= blockSize {
		p.through(p.buf[:min(n, blockSize)])
	}
	p.fresh = heard
	act()
	p.prime()
	return true
}

// until is what belongs before a sample.
func (h Heard) until(at coach.Samples) Heard {
	for len(h.Cues) > 0 && h.Cues[len(h.Cues)-1].At >= at {
		h.Cues = h.Cues[:len(h.Cues)-1]
	}
	for len(h.Entries) > 0 && h.Entries[len(h.Entries)-1].Sample >= at {
		h.Entries = h.Entries[:len(h.Entries)-1]
	}
	return h
}
