package hardware_test

import (
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpiotest"

	"evenbell/hardware"
	"evenbell/hardware/boxtest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func TestFakeKeepsTheContract(t *testing.T) {
	boxtest.Contract(t, func(t *testing.T) boxtest.Rig {
		f := hardware.NewFake()
		return boxtest.Rig{
			Box:   f,
			Press: func(c hardware.Control) { f.Press(c, hardware.Now()) },
			End:   func() { f.End(io.EOF) },
			Quit:  func() { f.End(hardware.ErrQuit) },
		}
	})
}

func TestButtonsKeepTheContract(t *testing.T) {
	boxtest.Contract(t, func(t *testing.T) boxtest.Rig {
		var contacts []hardware.Contact
		fakes := map[hardware.Control]*gpiotest.Pin{}
		for _, c := range hardware.Controls {
			fakes[c] = &gpiotest.Pin{N: string(c), EdgesChan: make(chan gpio.Level)}
			contacts = append(contacts, hardware.Contact{Control: c, Pin: fakes[c], Pull: gpio.PullUp})
		}
		b, err := hardware.NewButtons(contacts...)
		require.NoError(t, err)
		return boxtest.Rig{Box: b, Press: func(c hardware.Control) {
			fakes[c].EdgesChan <- gpio.Low
			time.Sleep(2 * hardware.Lockout)
			fakes[c].EdgesChan <- gpio.High
			time.Sleep(2 * hardware.Lockout)
		}}
	})
}

func TestAFakeThatHasEndedTakesNoPress(t *testing.T) {
	f := hardware.NewFake()
	require.NoError(t, f.Close())
	f.Press(hardware.Tap, 0)
	f.End(io.EOF)
	assert.NoError(t, f.Err())
}

func TestStuckOfABoxThatCanTell(t *testing.T) {
	f := hardware.NewFake()
	defer f.Close()
	assert.Empty(t, hardware.Stuck(f))
	f.Jam(hardware.Plus)
	assert.Equal(t, []hardware.Control{hardware.Plus}, hardware.Stuck(f))
	assert.Empty(t, hardware.Stuck(f.Feed), "one that can't tell")
	assert.Empty(t, hardware.Missing(f))
	f.Unplug(hardware.Stop)
	assert.Equal(t, []hardware.Control{hardware.Stop}, hardware.Missing(f))
	assert.Empty(t, hardware.Missing(f.Feed), "one that always has all")
}

func TestParseControl(t *testing.T) {
	for _, c := range hardware.Controls {
		got, err := hardware.ParseControl(string(c))
		require.NoError(t, err)
		assert.Equal(t, c, got)
	}
	for _, s := range []string{"", "Tap", "pause", "tap "} {
		_, err := hardware.ParseControl(s)
		assert.ErrorContains(t, err, "the controls are tap, minus, plus, hold and stop", s)
	}
}

func TestNowIsTheClockOfTheKernel(t *testing.T) {
	before, wall := hardware.Now(), time.Now()
	time.Sleep(20 * time.Millisecond)
	assert.InDelta(t, time.Since(wall), hardware.Now()-before, float64(5*time.Millisecond),
		"time.Since reads the same clock")
}
