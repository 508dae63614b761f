package gpio

import (
	"fmt"
	"regexp"

	"periph.io/x/conn/v3/gpio"

	"evenbell/hardware"
)

// Config says at which lines the switches are. All but Foot must be there.
type Config struct {
	Tap, Minus, Plus, Hold, Stop *Input
	Foot                         *Input // a second red one; key "stop_foot"
}

// Input is one switch.
type Input struct {
	Chip    string // its name under /dev, its path, or its label; empty: gpiochip0
	Line    int    // its offset on the chip, from 0
	Pull    string // up, down or none; empty: up
	Pressed string // low or high, the level while pressed; empty: low
}

// LampConfig says where the lamps are. Either may be missing.
type LampConfig struct {
	Pace, Stop *Output
}

// Output is one lamp, at a line, where it is on or off, or at a PWM channel,
// where it can be dimmed.
type Output struct {
	Chip    string // of the line, as for an Input
	Line    int
	PWM     string // the PWM chip's name under /sys/class/pwm: pwmchip0; empty: a line
	Channel int    // on the PWM chip, from 0
	Lit     string // high or low, the level while lit; empty: high
}

// The words of a config.
var (
	pulls  = map[string]gpio.Pull{"": gpio.PullUp, "up": gpio.PullUp, "down": gpio.PullDown, "none": gpio.Float}
	levels = map[string]gpio.Level{"low": gpio.Low, "high": gpio.High} // an empty one is its key's own default
)

const defaultChip = "gpiochip0"

func chip(name string) string {
	if name == "" {
		return defaultChip
	}
	return name
}

// input is an Input and what it is for.
type input struct {
	key     string
	control hardware.Control
	*Input
}

func (c Config) inputs() []input {
	return []input{
		{"tap", hardware.Tap, c.Tap},
		{"minus", hardware.Minus, c.Minus},
		{"plus", hardware.Plus, c.Plus},
		{"hold", hardware.Hold, c.Hold},
		{"stop", hardware.Stop, c.Stop},
		{"stop_foot", hardware.Stop, c.Foot},
	}
}

// Check lists what of the config can't be used, by keys such as "stop.line".
func (c Config) Check() []hardware.Fault {
	var faults []hardware.Fault
	taken := map[string]string{}
	for _, in := range c.inputs() {
		if in.Input == nil {
			if in.key != "stop_foot" {
				faults = append(faults, hardware.Faultf(in.key, "missing; every box has this control, so say at which line it is"))
			}
			continue
		}
		faults = append(faults, line(taken, in.key, in.Chip, in.Line)...)
		if _, ok := pulls[in.Pull]; !ok {
			faults = append(faults, hardware.Faultf(in.key+".pull", "is %q; allowed are up, down and none", in.Pull))
		}
		faults = append(faults, level(in.key+".pressed", in.Pressed)...)
	}
	return faults
}

// Check lists what of the config can't be used, by keys such as "pace.line".
func (c LampConfig) Check() []hardware.Fault {
	var faults []hardware.Fault
	taken := map[string]string{}
	for _, out := range c.outputs() {
		if out.Output == nil {
			continue
		}
		if out.PWM == "" {
			faults = append(faults, line(taken, out.key(), out.Chip, out.Line)...)
		} else {
			faults = append(faults, out.channel(taken)...)
		}
		faults = append(faults, level(out.key()+".lit", out.Lit)...)
	}
	return faults
}

// output is an Output and which lamp it is.
type output struct {
	lamp hardware.Lamp
	*Output
}

func (c LampConfig) outputs() []output {
	return []output{{hardware.PaceLamp, c.Pace}, {hardware.StopLamp, c.Stop}}
}

func (o output) key() string { return string(o.lamp) }

var pwmChip = regexp.MustCompile(`^pwmchip[0-9]+$`)

func (o output) channel(taken map[string]string) (faults []hardware.Fault) {
	if o.Chip != "" || o.Line != 0 {
		faults = append(faults, hardware.Faultf(o.key()+".pwm", "stands beside a chip or line; a lamp is at one or the other"))
	}
	if !pwmChip.MatchString(o.PWM) {
		faults = append(faults, hardware.Faultf(o.key()+".pwm", "is %q; write the chip's name, such as pwmchip0", o.PWM))
	}
	if o.Channel < 0 {
		faults = append(faults, hardware.Faultf(o.key()+".channel", "is %d; channels count from 0", o.Channel))
	}
	return append(faults, once(taken, o.key()+".channel", fmt.Sprintf("channel %d of %s", o.Channel, o.PWM))...)
}

func line(taken map[string]string, key, name string, n int) (faults []hardware.Fault) {
	if n < 0 {
		faults = append(faults, hardware.Faultf(key+".line", "is %d; lines count from 0", n))
	}
	return append(faults, once(taken, key+".line", fmt.Sprintf("line %d of %s", n, chip(name)))...)
}

// once faults a place that is taken, and takes it.
func once(taken map[string]string, key, place string) []hardware.Fault {
	if by, ok := taken[place]; ok {
		return []hardware.Fault{hardware.Faultf(key, "is %s, which %s has; each needs its own", place, by)}
	}
	taken[place] = key
	return nil
}

func level(key, word string) []hardware.Fault {
	if _, ok := levels[word]; !ok && word != "" {
		return []hardware.Fault{hardware.Faultf(key, "is %q; allowed are low and high", word)}
	}
	return nil
}
