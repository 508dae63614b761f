package station

import (
	"fmt"
	"io"
	"log/slog"
	"strings"

	"evenbell/coach/strict"
	"evenbell/hardware"
	"evenbell/hardware/evdev"
	"evenbell/hardware/gpio"
	"evenbell/hardware/keys"
	"evenbell/hardware/lines"
)

// The kinds of button box.
const (
	boxGPIO  = "gpio"
	boxEvdev = "evdev"
	boxKeys  = "keys"
	boxLines = "lines"
)

// ButtonsConfig says what the button box is made of.
type ButtonsConfig struct {
	Kind  string
	Lines lines.Config
	GPIO  gpio.Config
	Evdev evdev.Config
}

// LampsConfig says where the lamps are.
type LampsConfig struct{ GPIO gpio.LampConfig }

func (c *ButtonsConfig) read(t *strict.Table) {
	c.Kind, _ = strict.Choice(t, "kind", strict.Required, boxGPIO, boxEvdev, boxKeys, boxLines)
	optional(t, "path", &c.Lines.Path)
	switch c.Kind {
	case boxLines:
		place(t, nil, c.Lines.Check())
	case boxGPIO:
		c.readGPIO(t)
	case boxEvdev:
		c.readEvdev(t)
	}
}

// readEvdev reads [[buttons.device]]: a device's name and, for each control it
// has, the key code.
func (c *ButtonsConfig) readEvdev(t *strict.Table) {
	devices, _ := t.Tables("device", strict.Required)
	tables := map[string]*strict.Table{}
	for i, in := range devices {
		tables[fmt.Sprintf("device.%d", i+1)] = in
		d := evdev.Device{Keys: map[hardware.Control][]int{}}
		d.Name, _ = in.Text("name", strict.Required)
		d.Share, _ = in.Bool("share", strict.Optional)
		for _, control := range hardware.Controls {
			if code, ok := in.Int(string(control), strict.Optional); ok {
				d.Keys[control] = []int{code}
			}
		}
		c.Evdev.Devices = append(c.Evdev.Devices, d)
	}
	place(t, tables, c.Evdev.Check())
}

func (c *ButtonsConfig) readGPIO(t *strict.Table) {
	inputs := map[string]**gpio.Input{"tap": &c.GPIO.Tap, "minus": &c.GPIO.Minus, "plus": &c.GPIO.Plus,
		"hold": &c.GPIO.Hold, "stop": &c.GPIO.Stop, "stop_foot": &c.GPIO.Foot}
	tables := map[string]*strict.Table{}
	for _, name := range []string{"tap", "minus", "plus", "hold", "stop", "stop_foot"} {
		in, ok := t.Table(name, strict.Optional)
		if !ok {
			continue
		}
		tables[name] = in
		p := &gpio.Input{}
		optional(in, "chip", &p.Chip)
		p.Line, _ = in.Int("line", strict.Required)
		optional(in, "pull", &p.Pull)
		optional(in, "pressed", &p.Pressed)
		*inputs[name] = p
	}
	place(t, tables, c.GPIO.Check())
}

func (c *LampsConfig) read(t *strict.Table) {
	tables := map[string]*strict.Table{}
	for name, lamp := range map[string]**gpio.Output{"pace": &c.GPIO.Pace, "stop": &c.GPIO.Stop} {
		out, ok := t.Table(name, strict.Optional)
		if !ok {
			continue
		}
		tables[name] = out
		p := &gpio.Output{}
		optional(out, "chip", &p.Chip)
		optional(out, "pwm", &p.PWM)
		optional(out, "lit", &p.Lit)
		p.Line, _ = out.Int("line", strict.Optional)
		p.Channel, _ = out.Int("channel", strict.Optional)
		*lamp = p
	}
	place(t, tables, c.GPIO.Check())
}

// place turns a box's faults into faults of the file, each where it stands.
func place(t *strict.Table, tables map[string]*strict.Table, faults []hardware.Fault) {
	for _, f := range faults {
		name, key := cutLast(f.Key)
		if in, ok := tables[name]; ok {
			in.Fault(key, "%s", f.Message)
		} else {
			t.Fault(f.Key, "%s", f.Message)
		}
	}
}

// cutLast cuts a dotted key before its last part.
func cutLast(key string) (table, last string) {
	i := strings.LastIndexByte(key, '.')
	if i < 0 {
		return "", key
	}
	return key[:i], key[i+1:]
}

// OpenBox opens the button box that the config names. stdin is where keys
// come from.
func (c *Config) OpenBox(stdin io.Reader, log *slog.Logger) (hardware.Box, error) {
	switch c.Buttons.Kind {
	case boxGPIO:
		return gpio.Open(c.Buttons.GPIO)
	case boxKeys:
		return keys.Open(stdin)
	case boxLines:
		return lines.Open(c.Buttons.Lines, log)
	case boxEvdev:
		return evdev.Open(c.Buttons.Evdev, log)
	}
	return nil, fmt.Errorf("opening the button box: this program has no %s box", c.Buttons.Kind)
}

// OpenLamps opens the lamps; nil where the config names none.
func (c *Config) OpenLamps() (hardware.Lamps, error) {
	if c.Lamps.GPIO.Pace == nil && c.Lamps.GPIO.Stop == nil {
		return nil, nil
	}
	return gpio.OpenLamps(c.Lamps.GPIO)
}
