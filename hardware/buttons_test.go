package hardware

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpiotest"
)

const ms = time.Millisecond

// panel is five fake pins and the box over them, in the time of a synctest
// bubble, which counts from the panel's making.
type panel struct {
	*Buttons
	pins  map[Control]*gpiotest.Pin
	begun time.Time
}

// newPanel makes a box on which some controls are down from the start.
func newPanel(t *testing.T, down ...Control) *panel {
	p := &panel{pins: map[Control]*gpiotest.Pin{}, begun: time.Now()}
	pins := map[Control]gpio.PinIn{}
	for _, c := range Controls {
		p.pins[c] = &gpiotest.Pin{N: string(c), EdgesChan: make(chan gpio.Level, 100)}
		pins[c] = p.pins[c]
	}
	for _, c := range down {
		pins[c] = heldPin{p.pins[c]}
	}
	var err error
	p.Buttons, err = newButtons(pins, func() time.Duration { return time.Since(p.begun) })
	require.NoError(t, err)
	synctest.Wait()
	return p
}

// heldPin is down when it is first looked at.
type heldPin struct{ *gpiotest.Pin }

func (h heldPin) In(pull gpio.Pull, edge gpio.Edge) error {
	err := h.Pin.In(pull, edge)
	h.Pin.Out(pressed)
	return err
}

// play sends edges at times from now: a positive time closes the contact, a
// negative one opens it again.
func (p *panel) play(c Control, edges ...time.Duration) {
	begin := time.Now()
	for _, at := range edges {
		level := pressed
		if at < 0 {
			level, at = !pressed, -at
		}
		time.Sleep(time.Until(begin.Add(at)))
		p.pins[c].EdgesChan <- level
	}
}

// times is when a control was pressed, from what has arrived.
func (p *panel) times(c Control) []time.Duration {
	synctest.Wait()
	var times []time.Duration
	for {
		select {
		case got := <-p.Presses():
			if got.Control == c {
				times = append(times, got.Time)
			}
		default:
			return times
		}
	}
}

func TestDebounce(t *testing.T) {
	for _, c := range []struct {
		name  string
		edges []time.Duration // see play
		want  []time.Duration // when presses are reported
	}{
		{"clean", []time.Duration{5 * ms, -200 * ms}, []time.Duration{5 * ms}},
		{"bounces when closing", []time.Duration{5 * ms, -6 * ms, 7 * ms, -8 * ms, 9 * ms, -250 * ms}, []time.Duration{5 * ms}},
		{"bounces when opening", []time.Duration{5 * ms, -250 * ms, 251 * ms, -253 * ms, 258 * ms, -260 * ms}, []time.Duration{5 * ms}},
		{"bounces both ways", []time.Duration{5 * ms, -6 * ms, 8 * ms, -150 * ms, 152 * ms, -153 * ms}, []time.Duration{5 * ms}},
		{"shorter than the lockout", []time.Duration{5 * ms, -15 * ms}, []time.Duration{5 * ms}},
		{"bounces until the lockout ends", []time.Duration{5 * ms, -20 * ms, 34 * ms, -300 * ms}, []time.Duration{5 * ms}},
		{"chatters while held", []time.Duration{5 * ms, -500 * ms, 501 * ms, -900 * ms}, []time.Duration{5 * ms}},
		{"twice as fast as a hand can", []time.Duration{5 * ms, -60 * ms, 110 * ms, -160 * ms}, []time.Duration{5 * ms, 110 * ms}},
		{"three, bouncing", []time.Duration{5 * ms, -6 * ms, 7 * ms, -200 * ms, 201 * ms, -202 * ms,
			400 * ms, -401 * ms, 402 * ms, -600 * ms, 1000 * ms, -1100 * ms}, []time.Duration{5 * ms, 400 * ms, 1000 * ms}},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				p := newPanel(t)
				for _, control := range []Control{Stop, Tap} {
					before := time.Since(p.begun)
					p.play(control, c.edges...)
					time.Sleep(time.Second)
					var want []time.Duration
					for _, at := range c.want {
						want = append(want, before+at)
					}
					assert.Equal(t, want, p.times(control), control)
				}
				require.NoError(t, p.Close())
			})
		})
	}
}

func TestAPressIsThereAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPanel(t)
		p.play(Stop, 5*ms)
		assert.Equal(t, []time.Duration{5 * ms}, p.times(Stop), "no time has passed since its edge")
		require.NoError(t, p.Close())
	})
}

func TestAMissedEdgeIsFoundByTheLevel(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPanel(t)
		time.Sleep(ms)
		p.pins[Stop].Out(pressed) // and no edge comes
		time.Sleep(time.Second)
		assert.Equal(t, []time.Duration{recheck}, p.times(Stop))
		p.pins[Stop].Out(!pressed)
		time.Sleep(time.Second)
		p.play(Stop, 5*ms)
		assert.Len(t, p.times(Stop), 1, "and neither was the missed opening taken for a held one")
		require.NoError(t, p.Close())
	})
}

func TestAStuckControlIsNoticed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPanel(t)
		p.play(Plus, 5*ms)
		time.Sleep(StuckAfter - ms)
		assert.Empty(t, p.Stuck())
		time.Sleep(ms)
		assert.Equal(t, []Control{Plus}, p.Stuck())
		assert.Equal(t, []Control{Plus}, Stuck(p))
		p.play(Plus, -5*ms)
		time.Sleep(Lockout + ms)
		assert.Empty(t, p.Stuck())
		assert.Len(t, p.times(Plus), 1)
		require.NoError(t, p.Close())
	})
}

func TestWhatIsDownFromTheStart(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPanel(t, Tap, Stop)
		assert.Equal(t, []Control{Tap, Stop}, p.Stuck())
		assert.Equal(t, []time.Duration{0}, p.times(Stop), "the red one counts as pressed, no other does")
		p.play(Tap, -5*ms)
		time.Sleep(Lockout + ms)
		assert.Equal(t, []Control{Stop}, p.Stuck())
		p.play(Tap, 5*ms)
		assert.Len(t, p.times(Tap), 1, "once free it works")
		require.NoError(t, p.Close())
	})
}

// kernelPin knows the time of its edges.
type kernelPin struct {
	*gpiotest.Pin
	at time.Duration
}

func (k kernelPin) EdgeTime() time.Duration { return k.at }

func TestAPressHasTheKernelsTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		pins := map[Control]gpio.PinIn{}
		fakes := map[Control]*gpiotest.Pin{}
		for _, c := range Controls {
			fakes[c] = &gpiotest.Pin{N: string(c), EdgesChan: make(chan gpio.Level)}
			pins[c] = kernelPin{fakes[c], 1234 * ms}
		}
		b, err := NewButtons(pins)
		require.NoError(t, err)
		fakes[Hold].EdgesChan <- pressed
		assert.Equal(t, Press{Hold, 1234 * ms}, <-b.Presses())
		require.NoError(t, b.Close())
	})
}

func TestABoxNeedsAllItsPins(t *testing.T) {
	pins := map[Control]gpio.PinIn{}
	for _, c := range []Control{Tap, Minus, Plus} {
		pins[c] = &gpiotest.Pin{N: string(c), EdgesChan: make(chan gpio.Level)}
	}
	pins[Plus] = &gpiotest.Pin{N: "GPIO5"} // which refuses edges
	_, err := NewButtons(pins)
	require.ErrorContains(t, err, "the box has no pin for hold")
	require.ErrorContains(t, err, "the box has no pin for stop")
	require.ErrorContains(t, err, "watching pin GPIO5 for plus: ")
}
