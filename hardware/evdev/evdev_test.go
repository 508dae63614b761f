package evdev

import (
	"bytes"
	"log/slog"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"golang.org/x/sys/unix"

	"evenbell/hardware"
	"evenbell/hardware/boxtest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const ms = time.Millisecond

func open(t *testing.T, m *machine, c Config) *Box {
	box, err := m.box(c, quiet())
	require.NoError(t, err)
	t.Cleanup(func() { box.Close() })
	return box
}

func all() []uint16 { return []uint16{30, 48, 46, 32, 18} }

func TestBoxKeepsTheContract(t *testing.T) {
	boxtest.Contract(t, func(t *testing.T) boxtest.Rig {
		m := newMachine(t)
		pad := m.plug("event4", padName, all()...)
		box := open(t, m, five())
		return boxtest.Rig{Box: box, Press: func(c hardware.Control) { pad.push(uint16(codeOf[c])) }}
	})
}

// next is the next press, or a failure.
func next(t *testing.T, b *Box) hardware.Press {
	select {
	case p, open := <-b.Presses():
		require.True(t, open)
		return p
	case <-time.After(10 * time.Second):
		require.FailNow(t, "no press")
	}
	panic("not reached")
}

// none wants no press for a while.
func none(t *testing.T, b *Box) {
	select {
	case p := <-b.Presses():
		require.Fail(t, "one more", "%v", p)
	case <-time.After(50 * ms):
	}
}

func TestADeviceIsFoundByItsNameAndTaken(t *testing.T) {
	m := newMachine(t)
	other := m.plug("event0", "Somebody's Keyboard", all()...)
	mouse := m.plug("event1", padName, 272) // the same pedal's other half
	pad := m.plug("event2", padName, all()...)
	box := open(t, m, five())
	assert.Empty(t, box.Missing())
	assert.True(t, pad.grabbed)
	assert.Equal(t, int32(unix.CLOCK_MONOTONIC), pad.clock)
	assert.False(t, other.grabbed || mouse.grabbed)
	pad.key(18, pressed, 1234567*time.Microsecond)
	assert.Equal(t, hardware.Press{Control: hardware.Stop, Time: 1234567 * time.Microsecond}, next(t, box), "the kernel's time")
}

func TestASharedDeviceIsNotTaken(t *testing.T) {
	m := newMachine(t)
	pad := m.plug("event2", padName, all()...)
	c := five()
	c.Devices[0].Share = true
	box := open(t, m, c)
	assert.Empty(t, box.Missing())
	assert.False(t, pad.grabbed)
}

func TestUnpluggedAndPluggedInAgain(t *testing.T) {
	m := newMachine(t)
	box := open(t, m, five())
	assert.Equal(t, hardware.Controls, box.Missing(), "nothing is there yet")
	assert.Equal(t, hardware.Controls, hardware.Missing(box))
	there := func() bool { return len(box.Missing()) == 0 }
	for _, node := range []string{"event3", "event7", "event7", "event3"} {
		pad := m.plug(node, padName, all()...)
		require.Eventually(t, there, 10*time.Second, ms)
		pad.push(30)
		assert.Equal(t, hardware.Tap, next(t, box).Control)
		pad.key(48, pressed, hardware.Now())
		assert.Equal(t, hardware.Minus, next(t, box).Control)
		pad.unplug()
		require.Eventually(t, func() bool { return len(box.Missing()) == 5 }, 10*time.Second, ms)
		assert.Empty(t, box.Stuck(), "a key on no device is not held")
		require.NoError(t, box.Err())
	}
	none(t, box)
}

func TestTwoDevices(t *testing.T) {
	m := newMachine(t)
	c := five()
	delete(c.Devices[0].Keys, hardware.Tap)
	c.Devices = append(c.Devices, Device{Name: "Pedal", Keys: map[hardware.Control][]int{hardware.Tap: {48}, hardware.Stop: {46}}})
	m.plug("event1", padName, all()...)
	pedal := m.plug("event2", "Pedal", 48, 46)
	box := open(t, m, c)
	assert.Empty(t, box.Missing())
	pedal.push(48)
	assert.Equal(t, hardware.Tap, next(t, box).Control)
	pedal.unplug()
	require.Eventually(t, func() bool { return len(box.Missing()) > 0 }, 10*time.Second, ms)
	assert.Equal(t, []hardware.Control{hardware.Tap}, box.Missing(), "the other has a red one too")
}

func TestKeysHeldWhenPluggedIn(t *testing.T) {
	m := newMachine(t)
	box := open(t, m, five())
	pad := m.plug("hidden", padName, all()...)
	pad.mu.Lock()
	pad.down.set(30, true)
	pad.down.set(18, true)
	pad.mu.Unlock()
	require.NoError(t, os.Rename(pad.path, m.dir+"/event9"))
	assert.Equal(t, hardware.Stop, next(t, box).Control, "the red one counts as pressed")
	assert.Equal(t, []hardware.Control{hardware.Tap, hardware.Stop}, box.Stuck())
	pad.key(30, released, hardware.Now())
	pad.key(30, pressed, hardware.Now()+time.Second)
	assert.Equal(t, hardware.Tap, next(t, box).Control, "once free it works")
	none(t, box)
}

func TestLostEventsAreMadeUpFor(t *testing.T) {
	m := newMachine(t)
	pad := m.plug("event1", padName, all()...)
	box := open(t, m, five())
	pad.key(30, pressed, 1*time.Second)
	assert.Equal(t, hardware.Press{Control: hardware.Tap, Time: time.Second}, next(t, box))
	pad.mu.Lock()
	pad.down = keys{}
	pad.down.set(18, true) // meanwhile
	pad.mu.Unlock()
	pad.write(evSyn, synDropped, 0, 2*time.Second)
	pad.write(evKey, 46, pressed, 2*time.Second) // of a time before the loss: not to be trusted
	pad.write(evSyn, synReport, 0, 3*time.Second)
	assert.Equal(t, hardware.Press{Control: hardware.Stop, Time: 3 * time.Second}, next(t, box))
	pad.key(30, pressed, 4*time.Second)
	assert.Equal(t, hardware.Press{Control: hardware.Tap, Time: 4 * time.Second}, next(t, box), "it was released unseen")
	none(t, box)
}

func TestWhatKeysDo(t *testing.T) {
	tap := map[uint16]hardware.Control{30: hardware.Tap, 31: hardware.Tap}
	type act struct {
		code  uint16
		value int32
		at    time.Duration
	}
	for name, c := range map[string]struct {
		acts []act
		want []time.Duration
	}{
		"clean":             {[]act{{30, 1, 0}, {30, 0, 200 * ms}}, []time.Duration{0}},
		"repeats itself":    {[]act{{30, 1, 0}, {30, 2, 250 * ms}, {30, 2, 283 * ms}, {30, 2, 900 * ms}, {30, 0, 901 * ms}}, []time.Duration{0}},
		"bounces":           {[]act{{30, 1, 0}, {30, 0, 4 * ms}, {30, 1, 8 * ms}, {30, 0, 200 * ms}, {30, 1, 205 * ms}, {30, 0, 207 * ms}}, []time.Duration{0}},
		"ten a second":      {[]act{{30, 1, 0}, {30, 0, 50 * ms}, {30, 1, 100 * ms}, {30, 0, 150 * ms}, {30, 1, 200 * ms}}, []time.Duration{0, 100 * ms, 200 * ms}},
		"two of one kind":   {[]act{{30, 1, 0}, {31, 1, 5 * ms}}, []time.Duration{0, 5 * ms}},
		"down while down":   {[]act{{30, 1, 0}, {30, 1, 500 * ms}}, []time.Duration{0}},
		"another's key":     {[]act{{99, 1, 0}, {30, 1, 5 * ms}}, []time.Duration{5 * ms}},
		"values of no kind": {[]act{{30, 3, 0}, {30, -1, 1 * ms}}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			p, _ := newPad(tap, keys{}, 0)
			var got []time.Duration
			for _, a := range c.acts {
				if press, ok, _ := p.take(event{a.at, evKey, a.code, a.value}); ok {
					got = append(got, press.Time)
				}
			}
			assert.Equal(t, c.want, got)
		})
	}
}

func TestAStuckKeyIsNoticed(t *testing.T) {
	p, _ := newPad(map[uint16]hardware.Control{30: hardware.Tap}, keys{}, 0)
	p.take(event{time.Second, evKey, 30, pressed})
	stuck := func(now time.Duration) []hardware.Control {
		set := map[hardware.Control]bool{}
		p.stuck(now, set)
		return hardware.InOrder(set)
	}
	assert.Empty(t, stuck(time.Second+hardware.StuckAfter-1))
	assert.Equal(t, []hardware.Control{hardware.Tap}, stuck(time.Second+hardware.StuckAfter))
	p.take(event{20 * time.Second, evKey, 30, released})
	assert.Empty(t, stuck(time.Minute))
}

func TestADeviceThatCantBeUsedIsToldOnce(t *testing.T) {
	m := newMachine(t)
	require.NoError(t, os.WriteFile(m.dir+"/event5", nil, 0o600)) // answers nothing
	var told bytes.Buffer
	box, err := m.box(five(), slog.New(slog.NewTextHandler(&told, nil)))
	require.NoError(t, err)
	time.Sleep(10 * m.every)
	require.NoError(t, box.Close())
	assert.Equal(t, 1, strings.Count(told.String(), "an event device can't be used"))
	assert.Contains(t, told.String(), "event5 for its name: inappropriate ioctl")
}

func TestConfigsThatCantBeUsed(t *testing.T) {
	assert.Empty(t, five().Check())
	c := Config{Devices: []Device{
		{Name: "A", Keys: map[hardware.Control][]int{hardware.Tap: {0, 30}, hardware.Minus: {30}, hardware.Hold: {768}, "pause": {3}}},
		{Name: "A", Keys: map[hardware.Control][]int{hardware.Plus: {4}}},
		{},
	}}
	var said []string
	for _, f := range c.Check() {
		said = append(said, f.Error())
	}
	assert.Equal(t, []string{
		"device.1.tap: has the key code 0; allowed are 1 to 767",
		"device.1.minus: has the key code 30, which tap has too; a key stands for one control",
		"device.1.hold: has the key code 768; allowed are 1 to 767",
		`device.1: "pause" is not a control; the controls are tap, minus, plus, hold and stop`,
		`device.2.name: is "A", which another device has; give all its keys once`,
		"device.3.name: missing; write the device's name as /proc/bus/input/devices lists it",
		"device: has no key for stop; every box has this control, so give a key code for it on some device",
	}, said)
	_, err := Open(c, quiet())
	require.ErrorContains(t, err, "has no key for stop")
}

func FuzzDecode(f *testing.F) {
	f.Add(encode(event{time.Second, evKey, 30, pressed}, 8), true)
	f.Add(append(encode(event{time.Hour, evSyn, synDropped, 0}, 4), 1, 2, 3), false)
	f.Fuzz(func(t *testing.T, b []byte, wide bool) {
		word := map[bool]int{true: 8, false: 4}[wide]
		events := decode(b, word)
		if len(events) != len(b)/size(word) {
			t.Fatalf("%d events in %d bytes", len(events), len(b))
		}
		p, _ := newPad(map[uint16]hardware.Control{30: hardware.Tap}, keys{}, 0)
		downs := 0
		for i, e := range events {
			if e.at >= 0 && e.at%time.Microsecond == 0 && e.at < 1<<31*time.Second && e.at/time.Second < 1<<31 {
				if usec := long(b[i*size(word)+word:], word); usec >= 0 && usec < 1e6 && !bytes.Equal(encode(e, word), b[i*size(word):][:size(word)]) {
					if sec := long(b[i*size(word):], word); sec >= 0 && sec < 1<<31 {
						t.Fatalf("%v is not what was written", e)
					}
				}
			}
			if e.kind == evKey && e.code == 30 && e.value == pressed {
				downs++
			}
			if _, ok, _ := p.take(e); ok {
				downs--
			}
		}
		if downs < 0 {
			t.Fatal("more presses than a key went down")
		}
	})
}
