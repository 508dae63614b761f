package hardware_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpiotest"
	"periph.io/x/conn/v3/physic"

	"evenbell/hardware"
)

const (
	pace, stop = hardware.PaceLamp, hardware.StopLamp
	dark, full = hardware.Dark, hardware.Full
)

// plainPin has no pulses.
type plainPin struct{ *gpiotest.Pin }

func (plainPin) PWM(gpio.Duty, physic.Frequency) error { return errors.New("no pulses here") }

// level is how bright a lamp at a pin looks.
func level(p *gpiotest.Pin, dims bool) func() uint8 {
	return func() uint8 {
		p.Lock()
		defer p.Unlock()
		if dims {
			for l := 0; l < 256; l++ { // as the eye feels it
				if gpio.Duty(l*l*int(gpio.DutyMax)/255/255) == p.D {
					return uint8(l)
				}
			}
		}
		if p.L {
			return full
		}
		return dark
	}
}

func TestLamps(t *testing.T) {
	on := func(n string) *gpiotest.Pin { return &gpiotest.Pin{N: n, L: gpio.High, D: gpio.DutyMax} }
	a, b, c, d := on("a"), on("b"), on("c"), on("d")
	dimmed, err := hardware.NewPinLamps(map[hardware.Lamp]gpio.PinOut{pace: a, stop: b})
	require.NoError(t, err)
	plain, err := hardware.NewPinLamps(map[hardware.Lamp]gpio.PinOut{pace: plainPin{c}, stop: plainPin{d}})
	require.NoError(t, err)
	fake := &hardware.FakeLamps{}
	for name, tc := range map[string]struct {
		lamps      hardware.Lamps
		pace, stop func() uint8
		dims       bool
	}{
		"fake":   {fake, func() uint8 { return fake.Level(pace) }, func() uint8 { return fake.Level(stop) }, true},
		"dimmed": {dimmed, level(a, true), level(b, true), true},
		"plain":  {plain, level(c, false), level(d, false), false},
	} {
		t.Run(name, func(t *testing.T) {
			lit := func() []uint8 { return []uint8{tc.pace(), tc.stop()} }
			assert.Equal(t, []uint8{dark, dark}, lit(), "dark to begin with")
			assert.Equal(t, tc.dims, tc.lamps.Dims(pace))
			require.NoError(t, tc.lamps.Set(pace, full))
			require.NoError(t, tc.lamps.Set(pace, full))
			assert.Equal(t, []uint8{full, dark}, lit())
			for _, l := range []uint8{1, 80, 127, 128, 254} {
				require.NoError(t, tc.lamps.Set(pace, l))
				want := l
				if !tc.dims {
					want = map[bool]uint8{true: full, false: dark}[l > 127]
				}
				assert.Equal(t, want, tc.pace(), "%d", l)
			}
			require.NoError(t, tc.lamps.Set(stop, full))
			require.NoError(t, tc.lamps.Set(pace, dark))
			assert.Equal(t, []uint8{dark, full}, lit())
			require.ErrorContains(t, tc.lamps.Set("alarm", full), `"alarm" is not a lamp; the lamps are pace and stop`)
			assert.False(t, tc.lamps.Dims("alarm"))
			require.NoError(t, tc.lamps.Close())
			assert.Equal(t, []uint8{dark, dark}, lit())
		})
	}
}

func TestALampThatIsNotThereIsNoError(t *testing.T) {
	lamps, err := hardware.NewPinLamps(nil)
	require.NoError(t, err)
	require.NoError(t, lamps.Set(stop, full))
	require.NoError(t, lamps.Close())
	_, err = hardware.NewPinLamps(map[hardware.Lamp]gpio.PinOut{"alarm": &gpiotest.Pin{}})
	require.ErrorContains(t, err, `"alarm" is not a lamp`)
}

// brokenPin fails after a while.
type brokenPin struct {
	plainPin
	sets int
}

func (b *brokenPin) Out(l gpio.Level) error {
	if b.sets++; b.sets > 2 {
		return errors.New("burnt")
	}
	return b.Pin.Out(l)
}

func TestALampThatCantBeSetIsTold(t *testing.T) {
	lamps, err := hardware.NewPinLamps(map[hardware.Lamp]gpio.PinOut{stop: &brokenPin{plainPin: plainPin{&gpiotest.Pin{N: "GPIO24"}}}})
	require.NoError(t, err)
	require.NoError(t, lamps.Set(stop, full))
	for range 2 {
		require.ErrorContains(t, lamps.Set(stop, dark), "setting the stop lamp at GPIO24: burnt", "at every try")
	}
}

func TestALampLitWhileItsPinIsLow(t *testing.T) {
	a, b := &gpiotest.Pin{N: "a"}, &gpiotest.Pin{N: "b"}
	lamps, err := hardware.NewPinLamps(map[hardware.Lamp]gpio.PinOut{
		pace: hardware.Inverted(a), stop: hardware.Inverted(plainPin{b}),
	})
	require.NoError(t, err)
	assert.Equal(t, gpio.DutyMax, a.D, "dark")
	assert.Equal(t, gpio.High, b.Read())
	require.NoError(t, lamps.Set(pace, full))
	require.NoError(t, lamps.Set(stop, full))
	assert.Equal(t, gpio.Duty(0), a.D)
	assert.Equal(t, gpio.Low, b.Read())
	require.NoError(t, lamps.Set(pace, 51))
	assert.Equal(t, gpio.DutyMax-gpio.DutyMax/25, a.D, "a fifth as bright is a twenty-fifth of the light")
}

func TestPaceLevel(t *testing.T) {
	const s, msec = time.Second, time.Millisecond
	for _, c := range []struct {
		phase         hardware.Phase
		gone, length  time.Duration
		dimmed, plain uint8
	}{
		{hardware.Lift, 0, 2 * s, 0, 255},
		{hardware.Lift, 1 * s, 2 * s, 127, 255},
		{hardware.Lift, 2 * s, 2 * s, 255, 255},
		{hardware.Lift, 9 * s, 2 * s, 255, 255}, // nobody said that it is over
		{hardware.Lift, -s, 2 * s, 0, 255},      // the sound is not heard yet
		{hardware.Lift, 0, 0, 255, 255},
		{hardware.Top, 0, s, 255, 255},
		{hardware.Lower, 0, 3 * s, 255, 0},
		{hardware.Lower, 1 * s, 3 * s, 170, 0},
		{hardware.Lower, 3 * s, 3 * s, 0, 0},
		{hardware.Lower, 0, 0, 0, 0},
		{hardware.Bottom, 0, s, 0, 0},
		{hardware.Rest, 0, 60 * s, 255, 255},
		{hardware.Rest, 249 * msec, 60 * s, 255, 255},
		{hardware.Rest, 250 * msec, 60 * s, 0, 0},
		{hardware.Rest, 999 * msec, 60 * s, 0, 0},
		{hardware.Rest, 59 * s, 60 * s, 255, 255},
		{hardware.Rest, -s, 60 * s, 0, 0},
		{hardware.Notice, 0, 0, 255, 255},
		{hardware.Notice, 250 * msec, 0, 0, 0},
		{hardware.Notice, 500 * msec, 0, 255, 255},
		{hardware.Notice, 750 * msec, 0, 0, 0},
		{hardware.Notice, 1000 * msec, 0, 0, 0},
		{hardware.Notice, 4999 * msec, 0, 0, 0},
		{hardware.Notice, 5000 * msec, 0, 255, 255},
		{hardware.Notice, -s, 0, 0, 0},
		{"", s, 2 * s, 0, 0},
		{"say", s, 2 * s, 0, 0},
	} {
		assert.Equal(t, c.dimmed, hardware.PaceLevel(c.phase, c.gone, c.length, true), "%+v", c)
		assert.Equal(t, c.plain, hardware.PaceLevel(c.phase, c.gone, c.length, false), "%+v", c)
	}
}

func TestTheLampOnlyBrightensInTheLiftAndOnlyDimsInTheLower(t *testing.T) {
	const length = 1700 * time.Millisecond
	last := hardware.PaceLevel(hardware.Lift, 0, length, true)
	steps := 0
	for at := time.Duration(0); at <= length; at += time.Second / 30 {
		up := hardware.PaceLevel(hardware.Lift, at, length, true)
		assert.GreaterOrEqual(t, up, last)
		if up > last {
			steps++
		}
		assert.Equal(t, full-up, hardware.PaceLevel(hardware.Lower, at, length, true))
		last = up
	}
	assert.Equal(t, 51, steps, "each frame but the first is brighter")
}
