package gpio

import (
	"io"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"

	"evenbell/hardware"
	"evenbell/hardware/boxtest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var (
	_ hardware.TimedPin = (*Line)(nil)
	_ gpio.PinIO        = (*Line)(nil)
	_ gpio.PinOut       = (*PWM)(nil)
)

// panel is a config with all controls on the front chip.
func panel() Config {
	return Config{Tap: &Input{Line: 17}, Minus: &Input{Line: 22}, Plus: &Input{Line: 23},
		Hold: &Input{Line: 24}, Stop: &Input{Line: 27}}
}

// lineOf is where panel has each control.
var lineOf = map[hardware.Control]int{hardware.Tap: 17, hardware.Minus: 22, hardware.Plus: 23, hardware.Hold: 24, hardware.Stop: 27}

func TestBoxKeepsTheContract(t *testing.T) {
	boxtest.Contract(t, func(t *testing.T) boxtest.Rig {
		m := newMachine(t)
		box, err := m.box(panel())
		require.NoError(t, err)
		t.Cleanup(func() { box.Close() })
		return boxtest.Rig{Box: box, Press: func(c hardware.Control) { m.line("front", lineOf[c]).push() }}
	})
}

func TestAPressHasTheTimeOfTheKernel(t *testing.T) {
	m := newMachine(t)
	box, err := m.box(panel())
	require.NoError(t, err)
	at := hardware.Now()
	time.Sleep(50 * time.Millisecond)
	m.line("front", 27).drive(false, at)
	assert.Equal(t, hardware.Press{Control: hardware.Stop, Time: at}, <-box.Presses())
	require.NoError(t, box.Close())
}

func TestWaitingPressesKeepTheirTimes(t *testing.T) {
	m := newMachine(t)
	box, err := m.box(panel())
	require.NoError(t, err)
	const presses = 40 // more than the box has room for: they wait in the kernel
	begin := hardware.Now() - time.Hour
	var waiting []change
	for i := range presses {
		at := begin + time.Duration(i)*100*time.Millisecond
		for j, level := range []bool{false, true, false, true} {
			waiting = append(waiting, change{level, at + time.Duration(j)*12*time.Millisecond})
		}
	}
	m.line("front", 17).burst(waiting...)
	time.Sleep(200 * time.Millisecond)
	for i := range presses {
		assert.Equal(t, hardware.Press{Control: hardware.Tap, Time: begin + time.Duration(i)*100*time.Millisecond}, <-box.Presses())
	}
	select {
	case p := <-box.Presses():
		assert.Fail(t, "one more", "%v", p)
	case <-time.After(200 * time.Millisecond):
	}
	require.NoError(t, box.Close())
}

func TestPolarityPullAndChip(t *testing.T) {
	m := newMachine(t)
	c := panel()
	c.Stop = &Input{Line: 27, Pull: "up", Pressed: "high"}                // opens when pressed
	c.Foot = &Input{Chip: "back", Line: 3, Pull: "down", Pressed: "high"} // by label; closes to the supply
	c.Plus = &Input{Chip: m.dev + "/gpiochip1", Line: 0, Pull: "none"}    // by path; pulled up outside
	m.line("back", 0).level, m.line("front", 27).level = true, false      // what is wired to them
	red := m.line("front", 27)
	box, err := m.box(c)
	require.NoError(t, err)
	for l, want := range map[*fakeLine]uint64{
		red: flagPullUp, m.line("back", 3): flagPullDown, m.line("back", 0): flagBiasDisabled, m.line("front", 17): flagPullUp,
	} {
		assert.Equal(t, flagInput|flagEdgeRising|flagEdgeFalling|want, l.flags)
	}
	// The fake pulls an open line up; a red one that is open is pressed.
	assert.Equal(t, hardware.Stop, (<-box.Presses()).Control, "the red one is open, or its wire is broken")
	assert.Equal(t, []hardware.Control{hardware.Stop}, hardware.Stuck(box))
	m.line("back", 3).drive(true, 7)
	assert.Equal(t, hardware.Press{Control: hardware.Stop, Time: 7}, <-box.Presses(), "the foot stops all the same")
	m.line("back", 0).drive(false, 8)
	assert.Equal(t, hardware.Press{Control: hardware.Plus, Time: 8}, <-box.Presses())
	require.NoError(t, box.Close())
}

func TestALineThatVanishesEndsTheBox(t *testing.T) {
	m := newMachine(t)
	box, err := m.box(panel())
	require.NoError(t, err)
	m.line("front", 24).vanish()
	_, open := <-box.Presses()
	assert.False(t, open, "and no press is read into it")
	require.Error(t, box.Err())
	require.ErrorContains(t, box.Err(), "watching pin gpiochip0 line 24 for hold: ")
	require.NoError(t, box.Close())
}

func TestClosingGivesTheLinesBack(t *testing.T) {
	m := newMachine(t)
	for range 2 {
		box, err := m.box(panel())
		require.NoError(t, err)
		_, err = m.box(panel())
		require.ErrorContains(t, err, "watching pin gpiochip0 line 27 for stop: line 27 of gpiochip0 is taken by another program or driver")
		require.ErrorIs(t, err, unix.EBUSY)
		require.NoError(t, box.Close())
	}
	c := panel()
	c.Stop.Line = 32
	_, err := m.box(c)
	require.ErrorContains(t, err, "watching pin gpiochip0 line 32 for stop: gpiochip0 has no line 32; it has 0 to 31")
	assert.False(t, m.line("front", 17).busy(), "a box that can't be made keeps no line")
}

func TestAChipThatIsNotThere(t *testing.T) {
	m := newMachine(t)
	c := panel()
	for _, in := range c.inputs() {
		if in.Input != nil {
			in.Chip = "side"
		}
	}
	_, err := m.box(c)
	require.ErrorContains(t, err, `0 GPIO chips are called "side"; there are: gpiochip0 (front), gpiochip1 (back)`)
	require.NoError(t, os.WriteFile(m.dev+"/tty", nil, 0o600))
	c.Stop.Chip = "tty"
	_, err = m.box(c)
	require.ErrorContains(t, err, "/tty is no GPIO chip: inappropriate ioctl")
	_, err = system{dev: t.TempDir(), ioctl: m.answer}.box(c)
	require.ErrorContains(t, err, "there are: there is none")
}

func TestAnEdgeThatCameBeforeTheDeadlineCounts(t *testing.T) {
	m := newMachine(t)
	l := &Line{sys: m.system, chip: "front", offset: 5}
	require.NoError(t, l.In(gpio.PullUp, gpio.BothEdges))
	assert.False(t, l.WaitForEdge(0))
	m.line("front", 5).drive(false, 1)
	m.line("front", 5).drive(true, 2)
	for _, want := range []time.Duration{1, 2} {
		require.True(t, l.WaitForEdge(0), "which has passed already")
		level, at := l.Edge()
		assert.Equal(t, want, at)
		assert.Equal(t, want == 2, bool(level))
	}
	assert.False(t, l.WaitForEdge(time.Millisecond))
	require.NoError(t, l.Err())
	require.NoError(t, l.Halt())
	assert.False(t, l.WaitForEdge(-1), "halted")
	require.NoError(t, l.Err(), "which is no fault")
}

func TestAskingForSomeEdges(t *testing.T) {
	m := newMachine(t)
	l := &Line{sys: m.system, chip: "front", offset: 5}
	for edge, want := range map[gpio.Edge]uint64{
		gpio.NoEdge: 0, gpio.RisingEdge: flagEdgeRising, gpio.FallingEdge: flagEdgeFalling,
	} {
		require.NoError(t, l.In(gpio.PullNoChange, edge))
		assert.Equal(t, flagInput|want, m.line("front", 5).flags, edge)
	}
	assert.Equal(t, "in", l.Function())
	require.ErrorContains(t, l.PWM(0, physic.Hertz), "has no pulses")
	require.NoError(t, l.Halt())
	assert.Equal(t, "", l.Function())
}

func TestLampsAtLines(t *testing.T) {
	m := newMachine(t)
	m.line("front", 5).level = true
	lamps, err := m.lamps(LampConfig{Pace: &Output{Line: 5}, Stop: &Output{Chip: "back", Line: 1, Lit: "low"}})
	require.NoError(t, err)
	lit := func() []bool { return []bool{m.line("front", 5).level, !m.line("back", 1).level} }
	assert.Equal(t, []bool{false, false}, lit(), "dark from the request on")
	assert.False(t, lamps.Dims(hardware.PaceLamp))
	require.NoError(t, lamps.Set(hardware.PaceLamp, 200))
	assert.Equal(t, []bool{true, false}, lit())
	require.NoError(t, lamps.Set(hardware.PaceLamp, 100))
	require.NoError(t, lamps.Set(hardware.StopLamp, hardware.Full))
	assert.Equal(t, []bool{false, true}, lit())
	require.NoError(t, lamps.Close())
	assert.Equal(t, []bool{false, false}, lit())
	assert.False(t, m.line("back", 1).busy())
	_, err = m.lamps(LampConfig{Pace: &Output{Line: 5}, Stop: &Output{Chip: "back", Line: 4}})
	require.ErrorContains(t, err, "setting the stop lamp at back line 4: back has no line 4; it has 0 to 3")
	assert.False(t, m.line("front", 5).busy())
	lamps, err = m.lamps(LampConfig{})
	require.NoError(t, err)
	require.NoError(t, lamps.Set(hardware.StopLamp, hardware.Full), "a box without lamps")
}

func TestBoxHasNoEndOfItsOwn(t *testing.T) {
	m := newMachine(t)
	box, err := m.box(panel())
	require.NoError(t, err)
	assert.NotErrorIs(t, box.Err(), io.EOF)
	require.NoError(t, box.Close())
}
