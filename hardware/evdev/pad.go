package evdev

import (
	"time"

	"evenbell/hardware"
)

// pad is what is known of the keys of one device. It is pure.
type pad struct {
	controls map[uint16]hardware.Control
	down     map[uint16]time.Duration // since when
	last     map[uint16]time.Duration // the last edge
	dropped  bool                     // events are missing until the next report
}

// newPad begins with the keys that are down when a device is found, and gives
// the red ones among them as pressed.
func newPad(controls map[uint16]hardware.Control, held keys, now time.Duration) (*pad, []hardware.Press) {
	p := &pad{controls: controls, down: map[uint16]time.Duration{}, last: map[uint16]time.Duration{}}
	var presses []hardware.Press
	for code := range uint16(keyMax + 1) {
		if c, ok := controls[code]; ok && held.has(code) {
			p.down[code] = now - hardware.StuckAfter
			if c == hardware.Stop {
				presses = append(presses, hardware.Press{Control: c, Time: now})
			}
		}
	}
	return p, presses
}

// take is one event: whether it is a press, and whether the state of the keys
// must be read again.
func (p *pad) take(e event) (press hardware.Press, isPress, reread bool) {
	switch {
	case e.kind == evSyn && e.code == synDropped:
		p.dropped = true
	case e.kind == evSyn && e.code == synReport && p.dropped:
		p.dropped = false
		return press, false, true
	case e.kind == evKey && !p.dropped && (e.value == pressed || e.value == released):
		press, isPress = p.edge(e.code, e.value == pressed, e.at)
	}
	return press, isPress, false
}

// edge is a key going down or up, and whether that is a press.
func (p *pad) edge(code uint16, down bool, at time.Duration) (press hardware.Press, isPress bool) {
	c, ours := p.controls[code]
	_, was := p.down[code]
	if !ours || down == was {
		return press, false
	}
	if last, any := p.last[code]; down && (!any || at-last >= hardware.Lockout) {
		press, isPress = hardware.Press{Control: c, Time: at}, true
	}
	p.last[code] = at
	if down {
		p.down[code] = at
	} else {
		delete(p.down, code)
	}
	return press, isPress
}

// state is the state of the keys, read again at a time: what changed unseen.
func (p *pad) state(held keys, at time.Duration) []hardware.Press {
	var presses []hardware.Press
	for code := range uint16(keyMax + 1) {
		if press, ok := p.edge(code, held.has(code), at); ok {
			presses = append(presses, press)
		}
	}
	return presses
}

// stuck adds the controls with a key that has been down for too long.
func (p *pad) stuck(now time.Duration, set map[hardware.Control]bool) {
	for code, since := range p.down {
		if now-since >= hardware.StuckAfter {
			set[p.controls[code]] = true
		}
	}
}

// keys is a set of key codes, a bit each, as the kernel writes them.
type keys [(keyMax + 1) / 8]byte

func (k *keys) has(code uint16) bool {
	return int(code/8) < len(k) && k[code/8]>>(code%8)&1 == 1
}
