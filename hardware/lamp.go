package hardware

import (
	"errors"
	"fmt"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"
)

// Lamp is one of the two lights on the box.
type Lamp string

// The two lamps.
const (
	PaceLamp Lamp = "pace" // goes with the movement; see PaceLevel
	StopLamp Lamp = "stop" // lit while somebody should come
)

var both = []Lamp{PaceLamp, StopLamp}

func (l Lamp) check() error {
	if l != PaceLamp && l != StopLamp {
		return fmt.Errorf("%q is not a lamp; the lamps are pace and stop", l)
	}
	return nil
}

// The ends of a lamp's level.
const (
	Dark uint8 = 0
	Full uint8 = 255
)

// Lamps are the lights of a box. Both are dark to begin with. One goroutine
// uses them.
type Lamps interface {
	// Set makes a lamp as bright as that to the eye, from Dark to Full in even
	// steps, at once and without waiting. It may be called for every frame of
	// a movement, some thirty times a second; setting a lamp to what it is does
	// nothing. A lamp that can't be dimmed is lit from half of Full. A lamp
	// that the box does not have is no error; one that exists nowhere is.
	Set(l Lamp, level uint8) error

	// Dims reports whether a lamp has levels between Dark and Full.
	Dims(l Lamp) bool

	// Close darkens both and gives them back.
	Close() error
}

// dimming is how often in a second a dimmed lamp goes on and off: far more
// often than an eye can see, a moving one too (from memory: flicker is seen up
// to some hundred hertz).
const dimming = physic.KiloHertz

// PinLamps are lamps at pins: dimmed by the pulses of a pin that has them, on
// or off at any other, and lit while their pin is high; see [Inverted].
type PinLamps struct {
	pins map[Lamp]gpio.PinOut
	dims map[Lamp]bool
	last map[Lamp]uint8
}

// NewPinLamps darkens the lamps and makes them ready. A box may have one, both
// or none. Close halts their pins.
func NewPinLamps(pins map[Lamp]gpio.PinOut) (*PinLamps, error) {
	p := &PinLamps{pins: pins, dims: map[Lamp]bool{}, last: map[Lamp]uint8{}}
	for l := range pins {
		if err := l.check(); err != nil {
			return nil, err
		}
	}
	var faults []error
	for _, l := range both {
		if pin := pins[l]; pin != nil {
			p.dims[l] = pin.PWM(0, dimming) == nil
			faults = append(faults, p.set(l, Dark))
		}
	}
	return p, errors.Join(faults...)
}

// Set makes a lamp as bright as that.
func (p *PinLamps) Set(l Lamp, level uint8) error {
	if err := l.check(); err != nil {
		return err
	}
	if last, known := p.last[l]; p.pins[l] == nil || known && last == level {
		return nil
	}
	return p.set(l, level)
}

func (p *PinLamps) set(l Lamp, level uint8) (err error) {
	pin := p.pins[l]
	if p.dims[l] {
		err = pin.PWM(duty(level), dimming)
	} else {
		err = pin.Out(gpio.Level(level > Full/2))
	}
	if err != nil {
		delete(p.last, l)
		return fmt.Errorf("setting the %s lamp at %s: %w", l, pin.Name(), err)
	}
	p.last[l] = level
	return nil
}

// duty is the share of time for which a lamp is on to look as bright as that.
// The eye feels about the square root of the light (Stevens' power law, its
// exponent for a point of light 0.5; from memory).
func duty(level uint8) gpio.Duty {
	square := int64(level) * int64(level)
	return gpio.Duty(square * int64(gpio.DutyMax) / (int64(Full) * int64(Full)))
}

// Dims reports whether a lamp's pin has pulses.
func (p *PinLamps) Dims(l Lamp) bool { return p.dims[l] }

// Close darkens both and halts their pins, the second even where the first
// can't be.
func (p *PinLamps) Close() error {
	var faults []error
	for _, l := range both {
		if pin := p.pins[l]; pin != nil {
			faults = append(faults, p.set(l, Dark), pin.Halt())
		}
	}
	return errors.Join(faults...)
}

// Inverted is a pin for a lamp that is lit while its pin is low.
func Inverted(pin gpio.PinOut) gpio.PinOut { return inverted{pin} }

type inverted struct{ gpio.PinOut }

func (i inverted) Out(l gpio.Level) error { return i.PinOut.Out(!l) }

func (i inverted) PWM(d gpio.Duty, f physic.Frequency) error {
	return i.PinOut.PWM(gpio.DutyMax-d, f)
}
