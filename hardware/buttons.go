package hardware

import (
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"periph.io/x/conn/v3/gpio"
)

// Lockout is how long after an edge further ones count as bounce. Contacts
// bounce for a few milliseconds, bad ones for a few tens (from memory); a
// person presses again after a hundred at the soonest.
const Lockout = 30 * time.Millisecond

// StuckAfter is how long a control is held down before it may be jammed:
// nothing a person is asked to do takes that long.
const StuckAfter = 10 * time.Second

// Contact is one switch at a pin. A control may have several, the red one a
// second for the foot; each works whatever the others do.
//
// A switch that closes to ground when it is pressed has Pull gpio.PullUp and
// Pressed gpio.Low. One that opens when it is pressed, as red ones often do so
// that a broken wire is a stop, has Pull gpio.PullUp and Pressed gpio.High.
type Contact struct {
	Control Control
	Pin     gpio.PinIn
	Pull    gpio.Pull  // what holds the pin while the switch is open
	Pressed gpio.Level // of the pin, while the control is pressed
}

// TimedPin is a pin that knows of its edges what the kernel saw, rather than
// when a program heard of them, and that says when it is broken.
type TimedPin interface {
	gpio.PinIn

	// Edge is the level after the edge that WaitForEdge has just reported, and
	// its time on the clock of Now. Where a contact bounces quickly the level
	// may be that after a later edge.
	Edge() (gpio.Level, time.Duration)

	// Err is what broke the pin, after which WaitForEdge returns false at
	// once; nil while it works.
	Err() error
}

// Buttons is a box of contacts at pins.
type Buttons struct {
	*Feed
	now  func() time.Duration
	pins []gpio.PinIn

	mu   sync.Mutex
	down map[*contact]time.Duration // since when
}

// NewButtons watches contacts, at least one for each control.
//
// The first edge of a pin at rest is a press. For Lockout after it edges count
// as bounce; then the level is read, and tells whether the contact is still
// pressed. The first edge of a pressed contact is its release, which is no
// press, and is debounced in the same way. It is the times of the edges that
// count, so that a receiver, or a machine, that is late by seconds still gets
// every press once.
//
// A control that is down from the start is stuck, and was not pressed; but the
// red one counts as pressed then.
func NewButtons(contacts ...Contact) (*Buttons, error) {
	return newButtons(contacts, Now)
}

func newButtons(contacts []Contact, now func() time.Duration) (*Buttons, error) {
	b := &Buttons{now: now, down: map[*contact]time.Duration{}}
	var watches []Watch
	var faults []error
	for _, control := range Controls {
		if !slices.ContainsFunc(contacts, func(c Contact) bool { return c.Control == control }) {
			faults = append(faults, fmt.Errorf("the box has no pin for %s", control))
		}
	}
	for _, c := range contacts {
		b.pins = append(b.pins, c.Pin)
		watched := &contact{Contact: c, box: b}
		faults = append(faults, watched.begin())
		watches = append(watches, watched.watch)
	}
	if err := errors.Join(faults...); err != nil {
		return nil, errors.Join(err, b.halt())
	}
	b.Feed = NewFeed(watches...)
	return b, nil
}

// Close ends the box and halts its pins.
func (b *Buttons) Close() error {
	b.Feed.Close()
	return b.halt()
}

func (b *Buttons) halt() error {
	var faults []error
	for _, pin := range b.pins {
		faults = append(faults, pin.Halt())
	}
	return errors.Join(faults...)
}

// note keeps since when a contact has been down.
func (b *Buttons) note(c *contact, down bool, since time.Duration) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, was := b.down[c]; down && !was {
		b.down[c] = since
	} else if !down {
		delete(b.down, c)
	}
}

// Stuck lists the controls with a contact that has been down for StuckAfter or
// longer.
func (b *Buttons) Stuck() []Control {
	b.mu.Lock()
	defer b.mu.Unlock()
	long := map[Control]bool{}
	for c, since := range b.down {
		if b.now()-since >= StuckAfter {
			long[c.Control] = true
		}
	}
	return InOrder(long)
}

// InOrder lists the controls of a set in the order of Controls.
func InOrder(set map[Control]bool) []Control {
	var list []Control
	for _, c := range Controls {
		if set[c] {
			list = append(list, c)
		}
	}
	return list
}
