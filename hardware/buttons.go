package hardware

import (
	"context"
	"errors"
	"fmt"
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

// recheck is how often a quiet pin's level is read again, should an edge have
// been missed.
const recheck = 100 * time.Millisecond

// pressed is the level of a closed contact: it joins the pin to ground.
const pressed = gpio.Low

// TimedPin is a pin that knows when its last edge was, on the clock of Now:
// the kernel's time rather than that at which a program heard of it.
type TimedPin interface {
	gpio.PinIn
	EdgeTime() time.Duration
}

// Buttons is a box of contacts at pins.
type Buttons struct {
	*Feed
	now func() time.Duration

	mu   sync.Mutex
	down map[Control]time.Duration // since when
}

// NewButtons watches the contacts at five pins, each closing to ground against
// the pin's own pull-up.
//
// The first edge of a pin at rest is a press. For Lockout after it edges count
// as bounce; then the level is read, and tells whether the contact is still
// closed. The first edge of a closed contact is its opening, which is no press,
// and is debounced in the same way.
//
// A control that is down from the start is stuck, and was not pressed; but the
// red one counts as pressed then.
func NewButtons(pins map[Control]gpio.PinIn) (*Buttons, error) {
	return newButtons(pins, Now)
}

func newButtons(pins map[Control]gpio.PinIn, now func() time.Duration) (*Buttons, error) {
	b := &Buttons{now: now, down: map[Control]time.Duration{}}
	var watches []Watch
	var faults []error
	for _, c := range Controls {
		pin := pins[c]
		if pin == nil {
			faults = append(faults, fmt.Errorf("the box has no pin for %s", c))
			continue
		}
		if err := pin.In(gpio.PullUp, gpio.BothEdges); err != nil {
			faults = append(faults, fmt.Errorf("watching pin %s for %s: %w", pin.Name(), c, err))
		}
		watches = append(watches, b.watch(c, pin))
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	b.Feed = NewFeed(watches...)
	return b, nil
}

// watch is the goroutine of one contact.
func (b *Buttons) watch(c Control, pin gpio.PinIn) Watch {
	return func(ctx context.Context, send func(Press)) error {
		defer context.AfterFunc(ctx, func() { pin.Halt() })() // ends a wait for an edge
		down := pin.Read() == pressed
		b.note(c, down, b.now()-StuckAfter)
		if down && c == Stop {
			send(Press{c, b.now()})
		}
		for ctx.Err() == nil {
			edge := pin.WaitForEdge(recheck)
			if !edge && (pin.Read() == pressed) == down || ctx.Err() != nil {
				continue
			}
			at := b.time(pin, edge)
			if !down {
				send(Press{c, at})
			}
			b.settle(ctx, pin)
			down = pin.Read() == pressed
			b.note(c, down, at)
		}
		return nil
	}
}

// settle lets the bounces after an edge go by.
func (b *Buttons) settle(ctx context.Context, pin gpio.PinIn) {
	end := b.now() + Lockout
	for left := Lockout; left > 0 && ctx.Err() == nil; left = end - b.now() {
		pin.WaitForEdge(left)
	}
}

// time is when what was just noticed happened.
func (b *Buttons) time(pin gpio.PinIn, edge bool) time.Duration {
	if timed, ok := pin.(TimedPin); ok && edge {
		return timed.EdgeTime()
	}
	return b.now()
}

// note keeps since when a control has been down.
func (b *Buttons) note(c Control, down bool, since time.Duration) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, was := b.down[c]; down && !was {
		b.down[c] = since
	} else if !down {
		delete(b.down, c)
	}
}

// Stuck lists the controls that have been down for StuckAfter or longer.
func (b *Buttons) Stuck() []Control {
	b.mu.Lock()
	defer b.mu.Unlock()
	var stuck []Control
	for _, c := range Controls {
		if since, down := b.down[c]; down && b.now()-since >= StuckAfter {
			stuck = append(stuck, c)
		}
	}
	return stuck
}
