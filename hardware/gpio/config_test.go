package gpio

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/hardware"
)

func said(faults []hardware.Fault) (list []string) {
	for _, f := range faults {
		list = append(list, f.Error())
	}
	return list
}

func TestConfigsThatCantBeUsed(t *testing.T) {
	missing := ": missing; every box has this control, so say at which line it is"
	assert.Equal(t, []string{"tap" + missing, "minus" + missing, "plus" + missing, "hold" + missing, "stop" + missing}, said(Config{}.Check()))
	assert.Empty(t, panel().Check())
	c := panel()
	c.Minus = &Input{Line: -1, Pull: "sideways", Pressed: "hard"}
	c.Hold = &Input{Line: 17}
	c.Foot = &Input{Chip: "gpiochip0", Line: 27}
	assert.Equal(t, []string{
		"minus.line: is -1; lines count from 0",
		`minus.pull: is "sideways"; allowed are up, down and none`,
		`minus.pressed: is "hard"; allowed are low and high`,
		"hold.line: is line 17 of gpiochip0, which tap.line has; each needs its own",
		"stop_foot.line: is line 27 of gpiochip0, which stop.line has; each needs its own",
	}, said(c.Check()))
	_, err := Open(c)
	require.ErrorContains(t, err, "minus.line: is -1; lines count from 0")
}

func TestLampConfigsThatCantBeUsed(t *testing.T) {
	assert.Empty(t, LampConfig{}.Check())
	assert.Empty(t, LampConfig{Pace: &Output{PWM: "pwmchip0"}, Stop: &Output{Line: 3}}.Check())
	assert.Equal(t, []string{
		"pace.pwm: stands beside a chip or line; a lamp is at one or the other",
		`pace.pwm: is "../x"; write the chip's name, such as pwmchip0`,
		"pace.channel: is -2; channels count from 0",
		"stop.line: is -3; lines count from 0",
		`stop.lit: is "red"; allowed are low and high`,
	}, said(LampConfig{Pace: &Output{PWM: "../x", Channel: -2, Line: 4}, Stop: &Output{Line: -3, Lit: "red"}}.Check()))
	assert.Equal(t, []string{"stop.channel: is channel 0 of pwmchip0, which pace.channel has; each needs its own"},
		said(LampConfig{Pace: &Output{PWM: "pwmchip0"}, Stop: &Output{PWM: "pwmchip0"}}.Check()))
	_, err := OpenLamps(LampConfig{Stop: &Output{Line: -3}})
	require.ErrorContains(t, err, "stop.line: is -3")
}
