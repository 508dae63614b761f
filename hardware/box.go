// Package hardware is the contract of the button box: five controls and two
// lamps, whatever they are made of. Its subfolders are the kinds of box there
// are; [Fake] stands in for one in tests.
//
// It knows contacts, levels and the kernel's clock; it may not know what a
// press means, what is being coached, or anything of sound, and imports
// nothing of ours. Invariants every box keeps:
//
//   - A press is reported at the contact's first edge, with the time of that
//     edge; nothing is ever waited for to be sure of it, least of all for the
//     red control.
//   - No press is lost or reported twice: what bounces is one press.
//   - A box owns its goroutines, and Close ends them before it returns.
package hardware

import (
	"errors"
	"fmt"
	"time"

	"golang.org/x/sys/unix"
)

// Control is one of the five things a hand or a foot can press.
type Control string

// The five controls.
const (
	Tap   Control = "tap" // large, also a pedal
	Minus Control = "minus"
	Plus  Control = "plus"
	Hold  Control = "hold"
	Stop  Control = "stop" // red
)

// Controls lists them in the order in which they stand on the box.
var Controls = []Control{Tap, Minus, Plus, Hold, Stop}

// ParseControl reads a control's name.
func ParseControl(s string) (Control, error) {
	for _, c := range Controls {
		if s == string(c) {
			return c, nil
		}
	}
	return "", fmt.Errorf("%q is not a control; the controls are tap, minus, plus, hold and stop", s)
}

// Press is one closing of a contact.
type Press struct {
	Control Control
	Time    time.Duration // of the first edge, on the clock of Now
}

// ErrQuit says that a box ended because somebody asked the program to end, on
// a box that can ask that.
var ErrQuit = errors.New("asked to quit")

// Box is where presses come from. One goroutine receives from it; any may
// close it.
type Box interface {
	// Presses is the same channel at every call. Presses arrive each once, in
	// the order in which they were noticed, and where the receiver is slow
	// they wait for it. The channel is closed when no more will come, and by
	// Close.
	Presses() <-chan Press

	// Err says, once Presses is closed, why: nil after Close, io.EOF where a
	// box of finite input has come to its end, ErrQuit where somebody asked,
	// otherwise what broke. Before that it is nil.
	Err() error

	// Close ends the box, puts whatever it changed back as it was and returns
	// when its goroutines have ended. Presses not yet received are dropped.
	// Closing again does nothing and returns nil.
	Close() error
}

// Stuck lists the controls of b that have been held down for so long that
// they may be jammed, in the order of Controls; none for a box that can't tell.
func Stuck(b Box) []Control {
	if w, ok := b.(interface{ Stuck() []Control }); ok {
		return w.Stuck()
	}
	return nil
}

// Missing lists the controls of b that can't be pressed now, because what they
// are on is unplugged, in the order of Controls; none for a box whose controls
// are always there.
func Missing(b Box) []Control {
	if m, ok := b.(interface{ Missing() []Control }); ok {
		return m.Missing()
	}
	return nil
}

// Now is the kernel's CLOCK_MONOTONIC, the clock of Press.Time: it runs from
// the start of the machine, is never set, and stands still while the machine
// sleeps. Whoever matches presses with sound reads this clock for both.
func Now() time.Duration {
	var t unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_MONOTONIC, &t); err != nil {
		panic("reading CLOCK_MONOTONIC: " + err.Error()) // every Linux has it
	}
	return time.Duration(t.Nano())
}
