package hardware

import (
	"errors"
	"maps"
	"sync"
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
	var held []Contact
	pins := map[Control]*gpiotest.Pin{}
	for _, c := range down {
		pins[c] = fakePin(c)
		held = append(held, Contact{Control: c, Pin: heldPin{pins[c]}, Pull: gpio.PullUp})
	}
	p := newContacts(t, held...)
	maps.Copy(p.pins, pins)
	return p
}

// newContacts makes a box with these contacts, and a plain one for each control
// that is not among them; a second red one is one more.
func newContacts(t *testing.T, contacts ...Contact) *panel {
	p := &panel{pins: map[Control]*gpiotest.Pin{}, begun: time.Now()}
	given := map[Control]bool{}
	for _, c := range contacts {
		given[c.Control] = c.Pin.Name() != "foot"
	}
	for _, c := range Controls {
		if !given[c] {
			p.pins[c] = fakePin(c)
			contacts = append(contacts, Contact{Control: c, Pin: p.pins[c], Pull: gpio.PullUp})
		}
	}
	var err error
	p.Buttons, err = newButtons(contacts, func() time.Duration { return time.Since(p.begun) })
	require.NoError(t, err)
	synctest.Wait()
	return p
}

func fakePin(c Control) *gpiotest.Pin {
	return &gpiotest.Pin{N: string(c), EdgesChan: make(chan gpio.Level, 100)}
}

// heldPin is low when it is first looked at: its switch is closed.
type heldPin struct{ *gpiotest.Pin }

func (h heldPin) In(pull gpio.Pull, edge gpio.Edge) error {
	err := h.Pin.In(pull, edge)
	h.Pin.Out(gpio.Low)
	return err
}

// play sends edges at times from now: a positive time closes the contact, a
// negative one opens it again.
func (p *panel) play(c Control, edges ...time.Duration) {
	begin := time.Now()
	for _, at := range edges {
		level := gpio.Low
		if at < 0 {
			level, at = gpio.High, -at
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
		p.pins[Stop].Out(gpio.Low) // and no edge comes
		time.Sleep(time.Second)
		assert.Equal(t, []time.Duration{recheck}, p.times(Stop))
		p.pins[Stop].Out(gpio.High)
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

func TestAContactThatOpensWhenPressed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		pin := &gpiotest.Pin{N: "red", EdgesChan: make(chan gpio.Level, 100)}
		p := newContacts(t, Contact{Stop, heldPin{pin}, gpio.PullUp, gpio.High})
		assert.Empty(t, p.Stuck(), "at rest it is closed")
		p.pins[Stop] = pin
		p.play(Stop, -5*ms, 6*ms, -7*ms, 200*ms)
		assert.Equal(t, []time.Duration{5 * ms}, p.times(Stop))
		time.Sleep(time.Second)
		p.play(Stop, -5*ms) // the wire breaks
		assert.Len(t, p.times(Stop), 1, "a broken wire is a stop")
		time.Sleep(StuckAfter)
		assert.Equal(t, []Control{Stop}, p.Stuck())
		require.NoError(t, p.Close())
	})
}

func TestASecondRedSwitchWorksWhateverTheFirstDoes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		foot := &gpiotest.Pin{N: "foot", EdgesChan: make(chan gpio.Level, 100)}
		p := newContacts(t, Contact{Control: Stop, Pin: foot, Pull: gpio.PullUp})
		p.play(Stop, 5*ms)
		time.Sleep(StuckAfter)
		assert.Len(t, p.times(Stop), 1)
		assert.Equal(t, []Control{Stop}, p.Stuck(), "the first is jammed")
		foot.EdgesChan <- gpio.Low
		assert.Len(t, p.times(Stop), 1)
		foot.EdgesChan <- gpio.High
		time.Sleep(time.Second)
		assert.Equal(t, []Control{Stop}, p.Stuck(), "and still is")
		require.NoError(t, p.Close())
	})
}

func TestTenPressesASecond(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPanel(t)
		var want, edges []time.Duration
		for at := 5 * ms; at < 2*time.Second; at += 100 * ms {
			want = append(want, at)
			edges = append(edges, at, -at-2*ms, at+3*ms, -at-50*ms, at+51*ms, -at-52*ms)
		}
		got := make(chan []time.Duration)
		go func() {
			var times []time.Duration
			for press := range p.Presses() {
				times = append(times, press.Time)
			}
			got <- times
		}()
		p.play(Stop, edges...)
		time.Sleep(time.Second)
		require.NoError(t, p.Close())
		assert.Equal(t, want, <-got)
	})
}

// kernelPin is a pin of the kernel: its edges wait in a queue with their times.
type kernelPin struct {
	gpio.PinIn
	mu    sync.Mutex
	queue []kernelEdge
	level gpio.Level
	last  kernelEdge
	err   error
}

type kernelEdge struct {
	level gpio.Level
	at    time.Duration
}

func (k *kernelPin) Name() string                  { return "kernel" }
func (k *kernelPin) Halt() error                   { return nil }
func (k *kernelPin) In(gpio.Pull, gpio.Edge) error { return nil }

func (k *kernelPin) Read() gpio.Level {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.level
}

func (k *kernelPin) Edge() (gpio.Level, time.Duration) { return k.last.level, k.last.at }

func (k *kernelPin) Err() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.err
}

func (k *kernelPin) WaitForEdge(d time.Duration) bool {
	for end := time.Now().Add(d); ; time.Sleep(ms) {
		k.mu.Lock()
		if len(k.queue) > 0 {
			k.last, k.queue = k.queue[0], k.queue[1:]
			k.mu.Unlock()
			return true
		}
		k.mu.Unlock()
		if !time.Now().Before(end) {
			return false
		}
	}
}

// happen queues edges, written as for play, and leaves the level of the last.
func (k *kernelPin) happen(edges ...time.Duration) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, at := range edges {
		k.level = gpio.Level(at < 0)
		k.queue = append(k.queue, kernelEdge{k.level, at.Abs()})
	}
}

func TestPressesOfWhichTheProgramHearsLate(t *testing.T) {
	for _, c := range []struct {
		name        string
		edges, want []time.Duration
	}{
		{"one", []time.Duration{5 * ms, -200 * ms}, []time.Duration{5 * ms}},
		{"three, bouncing", []time.Duration{5 * ms, -6 * ms, 7 * ms, -80 * ms, 81 * ms, -82 * ms,
			150 * ms, -220 * ms, 300 * ms, -301 * ms, 302 * ms, -400 * ms}, []time.Duration{5 * ms, 150 * ms, 300 * ms}},
		{"shorter than the lockout", []time.Duration{5 * ms, -15 * ms, 115 * ms, -125 * ms}, []time.Duration{5 * ms, 115 * ms}},
		{"still down", []time.Duration{5 * ms, -60 * ms, 160 * ms}, []time.Duration{5 * ms, 160 * ms}},
		// With both edges asked for, the kernel says what the level was when its
		// own thread came to look: after a bounce, perhaps.
		{"an edge that bounced before the kernel looked", []time.Duration{-5 * ms, 6 * ms, -60 * ms, 160 * ms, -200 * ms},
			[]time.Duration{5 * ms, 160 * ms}},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				pin := &kernelPin{level: gpio.High}
				p := newContacts(t, Contact{Control: Tap, Pin: pin})
				time.Sleep(2 * time.Second) // the edges were long ago
				pin.happen(c.edges...)
				time.Sleep(2 * recheck)
				assert.Equal(t, c.want, p.times(Tap), "at their own times")
				time.Sleep(StuckAfter)
				held := c.edges[len(c.edges)-1] > 0
				assert.Equal(t, held, len(p.Stuck()) == 1)
				require.NoError(t, p.Close())
			})
		})
	}
}

func TestAPinThatBreaksEndsTheBox(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		pin := &kernelPin{level: gpio.High}
		p := newContacts(t, Contact{Control: Stop, Pin: pin})
		pin.mu.Lock()
		pin.level, pin.err = gpio.Low, errors.New("no such device") // what a read gives then means nothing
		pin.mu.Unlock()
		_, open := <-p.Presses()
		assert.False(t, open, "and nobody has pressed it")
		require.ErrorContains(t, p.Err(), "watching pin kernel for stop: no such device")
		require.NoError(t, p.Close())
	})
}

func TestABoxNeedsAllItsPins(t *testing.T) {
	var contacts []Contact
	for _, c := range []Control{Tap, Minus, Plus} {
		contacts = append(contacts, Contact{Control: c, Pin: &gpiotest.Pin{N: string(c), EdgesChan: make(chan gpio.Level)}})
	}
	contacts[2].Pin = &gpiotest.Pin{N: "GPIO5"} // which refuses edges
	_, err := NewButtons(contacts...)
	require.ErrorContains(t, err, "the box has no pin for hold")
	require.ErrorContains(t, err, "the box has no pin for stop")
	require.ErrorContains(t, err, "watching pin GPIO5 for plus: ")
}
