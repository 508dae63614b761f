package gpio

import (
	"errors"

	"periph.io/x/conn/v3/gpio"

	"evenbell/hardware"
)

// Open takes the lines of a box and watches them. Closing it gives them back.
func Open(c Config) (*hardware.Buttons, error) { return kernel.box(c) }

// OpenLamps takes the lines and channels of the lamps, and darkens them.
func OpenLamps(c LampConfig) (*hardware.PinLamps, error) { return kernel.lamps(c) }

func (s system) box(c Config) (*hardware.Buttons, error) {
	if err := join(c.Check()); err != nil {
		return nil, err
	}
	var contacts []hardware.Contact
	for _, in := range c.inputs() {
		if in.Input == nil {
			continue
		}
		contacts = append(contacts, hardware.Contact{
			Control: in.control,
			Pin:     &Line{sys: s, chip: chip(in.Chip), offset: in.Line},
			Pull:    pulls[in.Pull],
			Pressed: levels[in.Pressed],
		})
	}
	return hardware.NewButtons(contacts...)
}

func (s system) lamps(c LampConfig) (*hardware.PinLamps, error) {
	if err := join(c.Check()); err != nil {
		return nil, err
	}
	pins := map[hardware.Lamp]gpio.PinOut{}
	for _, out := range c.outputs() {
		if out.Output == nil {
			continue
		}
		pin, err := s.pin(*out.Output)
		if err != nil {
			return nil, errors.Join(err, halt(pins))
		}
		if out.Lit != "" && levels[out.Lit] == gpio.Low {
			pin = hardware.Inverted(pin)
		}
		pins[out.lamp] = pin
	}
	lamps, err := hardware.NewPinLamps(pins)
	if err != nil {
		return nil, errors.Join(err, halt(pins))
	}
	return lamps, nil
}

// pin is where a lamp is.
func (s system) pin(o Output) (gpio.PinOut, error) {
	if o.PWM == "" {
		return &Line{sys: s, chip: chip(o.Chip), offset: o.Line}, nil
	}
	p, err := s.channel(o.PWM, o.Channel)
	if err != nil {
		return nil, err
	}
	return p, nil
}

func halt(pins map[hardware.Lamp]gpio.PinOut) error {
	var faults []error
	for _, pin := range pins {
		faults = append(faults, pin.Halt())
	}
	return errors.Join(faults...)
}

func join(faults []hardware.Fault) error {
	var all []error
	for _, f := range faults {
		all = append(all, f)
	}
	return errors.Join(all...)
}
