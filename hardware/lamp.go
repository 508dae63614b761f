package hardware

import (
	"errors"
	"fmt"

	"periph.io/x/conn/v3/gpio"
)

// Lamp is one of the two lights on the box.
type Lamp string

// The two lamps.
const (
	PaceLamp Lamp = "pace" // blinks with the beat
	StopLamp Lamp = "stop" // lit while somebody should come
)

func (l Lamp) check() error {
	if l != PaceLamp && l != StopLamp {
		return fmt.Errorf("%q is not a lamp; the lamps are pace and stop", l)
	}
	return nil
}

// Lamps are the lights of a box. Both are dark to begin with.
type Lamps interface {
	// Set lights or darkens a lamp, at once and without waiting. Setting it to
	// what it is does nothing. A lamp that the box does not have is no error;
	// one that exists nowhere is.
	Set(l Lamp, on bool) error

	// Close darkens both.
	Close() error
}

// PinLamps are lamps at pins, lit while their pin is high.
type PinLamps map[Lamp]gpio.PinOut

// NewPinLamps darkens the lamps and makes them ready. A box may have one, both
// or none.
func NewPinLamps(pins map[Lamp]gpio.PinOut) (PinLamps, error) {
	for l := range pins {
		if err := l.check(); err != nil {
			return nil, err
		}
	}
	lamps := PinLamps(pins)
	return lamps, lamps.Close()
}

// Set lights or darkens a lamp.
func (p PinLamps) Set(l Lamp, on bool) error {
	if err := l.check(); err != nil {
		return err
	}
	pin := p[l]
	if pin == nil {
		return nil
	}
	if err := pin.Out(gpio.Level(on)); err != nil {
		return fmt.Errorf("setting the %s lamp at %s: %w", l, pin.Name(), err)
	}
	return nil
}

// Close darkens both, the second even where the first can't be.
func (p PinLamps) Close() error {
	return errors.Join(p.Set(PaceLamp, false), p.Set(StopLamp, false))
}
