package hardware

import "time"

// Phase is what the pace lamp follows. It is written as the phases and the
// rest of a session are; whatever else is going on has no phase, and the lamp
// is dark.
type Phase string

// The phases a person can follow by the lamp.
const (
	Lift   Phase = "lift"   // it brightens
	Top    Phase = "top"    // it stays full
	Lower  Phase = "lower"  // it dims
	Bottom Phase = "bottom" // it stays dark
	Rest   Phase = "rest"   // it blinks
	Notice Phase = "notice" // nobody is being coached, and staff should look when they pass: it blinks twice, now and then
)

// A blink is a short light once a second: far from the movement's slow swell,
// and well below the three flashes a second that WCAG 2.3.1 allows.
const (
	blinkEvery = time.Second
	blinkFor   = 250 * time.Millisecond
)

// A notice is two blinks every five seconds, so that nobody takes it for a
// rest or hurries to it.
const noticeEvery = 5 * time.Second

// PaceLevel is the level of the pace lamp when a phase of that length has gone
// on for so long. A lamp that can't be dimmed is full through the lift and the
// top and dark through the lower, so that its changes are the turns of the
// movement.
func PaceLevel(p Phase, gone, length time.Duration, dims bool) uint8 {
	switch p {
	case Lift:
		if dims {
			return part(gone, length)
		}
		return Full
	case Top:
		return Full
	case Lower:
		if dims {
			return Full - part(gone, length)
		}
	case Rest:
		if gone >= 0 && gone%blinkEvery < blinkFor {
			return Full
		}
	case Notice:
		if at := gone % noticeEvery; gone >= 0 && at < 2*2*blinkFor && at%(2*blinkFor) < blinkFor {
			return Full
		}
	}
	return Dark
}

// part is how far gone is on the way to length, as a level.
func part(gone, length time.Duration) uint8 {
	switch {
	case gone <= 0 && length > 0:
		return Dark
	case gone >= length:
		return Full
	}
	return uint8(gone.Milliseconds() * int64(Full) / max(1, length.Milliseconds()))
}
