package player

import "evenbell/coach"

// kept is how many places a live player can go back to: at 10 ms a block
// more than half a second, longer than any device holds back.
const kept = 64

// ring keeps the states a live player can go back to, oldest first overwritten.
type ring struct {
	states   []state // empty until the first mark
	n, first int     // marks first to n-1 can be gone back to
}

func (r *ring) mark(s *state) {
	if r.states == nil {
		r.states = make([]state, kept)
	}
	r.states[r.n%kept] = *s
	r.n++
	r.first = max(r.first, r.n-kept)
}

// back finds the latest state in which nothing at a sample or after it has
// been done yet, or the oldest there is; nil without marks. Later ones are
// forgotten: what they lead to no longer happens.
func (r *ring) back(at coach.Samples) *state {
	for ; r.n > r.first; r.n-- {
		s := &r.states[(r.n-1)%kept]
		if s.sess.Pos() <= at && s.acted <= at || r.n-1 == r.first {
			return s
		}
	}
	return nil
}

// Mark remembers this place, so that the player can go back to it.
func (p *Player) Mark() { p.marks.mark(&p.state) }

// GoesNext changes where the patient goes after this station. pcm is the sound
// of the place's name, mono at audio.Rate; nil where it cannot be spoken or is
// known already.
func (p *Player) GoesNext(n coach.Next, pcm []int16) {
	p.cfg.Voice.Type(n.Place, pcm)
	p.goes = &n
	p.sess.GoesNext(n)
}

// obeyed is an order and the sample at which it took effect.
type obeyed struct {
	at coach.Samples
	Order
}

// Obey lets an order take effect at the next sample not yet rendered.
func (p *Player) Obey(o Order) {
	at := p.sess.Pos()
	p.orders = append(p.orders[:p.ordered], obeyed{at, o})
	p.ordered, p.acted = p.ordered+1, at+1
	if o.Help != nil {
		p.sess.HelpComing(*o.Help, &p.out)
	} else {
		p.sess.Release(o.Release, &p.out)
	}
	p.sound()
}

// Press lets a control take effect at the next sample not yet rendered.
func (p *Player) Press(b coach.Button, heard coach.Samples) {
	at := p.sess.Pos()
	p.hands = append(p.hands[:p.handed], coach.Press{Button: b, At: at, Heard: min(heard, at)})
	p.handed, p.acted = p.handed+1, at+1
	p.press(b, min(heard, at))
}

// PressAt takes back what was rendered from sample at on, lets a control take
// effect there, and makes at the next sample that Render gives. Presses that
// are taken back with the sound take effect at that sample too, before it. It
// returns the sample: at, unless that lies before the oldest mark or something
// taken.
func (p *Player) PressAt(b coach.Button, at, heard coach.Samples) coach.Samples {
	return p.actAt(at, func() { p.Press(b, heard) })
}

// Interrupt takes back what was rendered from sample at on, because the sound
// stopped there, and lets the session hold. It returns what PressAt would.
func (p *Player) Interrupt(at coach.Samples, f Fault) coach.Samples {
	return p.actAt(at, func() {
		p.acted = p.sess.Pos() + 1
		p.sess.Interrupt(f.FaultData, f.Says, &p.out)
		p.sound()
	})
}

func (p *Player) actAt(at coach.Samples, act func()) coach.Samples {
	at = max(at, p.taken)
	s := p.marks.back(at)
	if s == nil {
		act()
		return p.Pos()
	}
	at = max(at, s.sess.Pos(), s.acted)
	again, orders, heard := p.hands[s.handed:p.handed], p.orders[s.ordered:p.ordered], p.fresh.until(at)
	p.state = *s
	if p.goes != nil {
		p.sess.GoesNext(*p.goes)
	}
	again, orders = p.redo(again, orders, at)
	p.throughTo(at)
	p.fresh = heard
	for _, h := range again {
		p.Press(h.Button, h.Heard)
	}
	for _, o := range orders {
		p.Obey(o.Order)
	}
	act()
	p.prime()
	return at
}

// redo does again what was done by hand before a sample, and gives what is left.
func (p *Player) redo(presses []coach.Press, orders []obeyed, at coach.Samples) ([]coach.Press, []obeyed) {
	for {
		switch {
		case len(orders) > 0 && orders[0].at < at && (len(presses) == 0 || orders[0].at < presses[0].At):
			p.throughTo(orders[0].at)
			p.Obey(orders[0].Order)
			orders = orders[1:]
		case len(presses) > 0 && presses[0].At < at:
			p.throughTo(presses[0].At)
			p.Press(presses[0].Button, presses[0].Heard)
			presses = presses[1:]
		default:
			return presses, orders
		}
	}
}

// throughTo mixes and limits up to a sample.
func (p *Player) throughTo(at coach.Samples) {
	for n := int(at) - int(p.mix.Pos()); n > 0; n -= blockSize {
		p.through(p.buf[:min(n, blockSize)])
	}
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
