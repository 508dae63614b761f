package gpio

import (
	"bufio"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"evenbell/hardware"
)

// pulses makes a PWM chip of two channels whose channel 1 appears, with the
// period and duty of whoever was there before, once somebody exports it.
func pulses(t *testing.T, m *machine) (channel string) {
	chip := filepath.Join(m.pwm, "pwmchip0")
	channel = filepath.Join(chip, "pwm1")
	require.NoError(t, os.Mkdir(chip, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(chip, "npwm"), []byte("2\n"), 0o600))
	require.NoError(t, unix.Mkfifo(filepath.Join(chip, "export"), 0o600))
	done := make(chan struct{})
	go func() { // the kernel
		defer close(done)
		export, _ := os.Open(filepath.Join(chip, "export"))
		defer export.Close()
		asked, _ := bufio.NewReader(export).ReadString('\n')
		if asked != "1\n" {
			return
		}
		os.Mkdir(channel, 0o700)
		for _, name := range []string{"period", "enable", "duty_cycle"} {
			os.WriteFile(filepath.Join(channel, name), []byte("0\n"), 0o600)
		}
	}()
	t.Cleanup(func() {
		// An opener for both: nobody may have exported it, or have begun to.
		f, err := os.OpenFile(filepath.Join(chip, "export"), os.O_RDWR|unix.O_NONBLOCK, 0)
		require.NoError(t, err)
		f.WriteString("\n")
		time.Sleep(time.Millisecond)
		f.Close()
		<-done
	})
	return channel
}

// number is the first line of a file of sysfs.
func number(t *testing.T, path ...string) string {
	b, err := os.ReadFile(filepath.Join(path...))
	require.NoError(t, err)
	line, _, _ := strings.Cut(string(b), "\n")
	return line
}

func TestADimmedLamp(t *testing.T) {
	m := newMachine(t)
	channel := pulses(t, m)
	for again := range 2 { // the channel stays exported
		lamps, err := m.lamps(LampConfig{Pace: &Output{PWM: "pwmchip0", Channel: 1}, Stop: &Output{Line: 5}})
		require.NoError(t, err, again)
		assert.Equal(t, "1000000", number(t, channel, "period"), "in ns: a thousand times a second")
		assert.Equal(t, "1", number(t, channel, "enable"))
		assert.Equal(t, "0", number(t, channel, "duty_cycle"))
		assert.True(t, lamps.Dims(hardware.PaceLamp))
		assert.False(t, lamps.Dims(hardware.StopLamp))
		for _, c := range []struct {
			level uint8
			want  string
		}{{255, "1000000"}, {51, "39999"}, {1, "15"}, {0, "0"}, {255, "1000000"}} {
			require.NoError(t, lamps.Set(hardware.PaceLamp, c.level))
			assert.Equal(t, c.want, number(t, channel, "duty_cycle"), "level %d", c.level)
		}
		require.NoError(t, lamps.Close())
		assert.Equal(t, "0", number(t, channel, "duty_cycle"), "dark")
	}
}

func TestADimmedLampLitWhileLow(t *testing.T) {
	m := newMachine(t)
	channel := pulses(t, m)
	lamps, err := m.lamps(LampConfig{Stop: &Output{PWM: "pwmchip0", Channel: 1, Lit: "low"}})
	require.NoError(t, err)
	assert.Equal(t, "1000000", number(t, channel, "duty_cycle"))
	require.NoError(t, lamps.Set(hardware.StopLamp, hardware.Full))
	assert.Equal(t, "0", number(t, channel, "duty_cycle"))
	require.NoError(t, lamps.Close())
	assert.Equal(t, "1000000", number(t, channel, "duty_cycle"))
}

func TestAChannelThatIsNotThere(t *testing.T) {
	m := newMachine(t)
	_, err := m.lamps(LampConfig{Pace: &Output{PWM: "pwmchip3"}})
	require.ErrorContains(t, err, "opening PWM chip pwmchip3: ")
	pulses(t, m)
	_, err = m.lamps(LampConfig{Pace: &Output{PWM: "pwmchip0", Channel: 2}})
	require.ErrorContains(t, err, "pwmchip0 has no channel 2; it has 0 to 1")
}
