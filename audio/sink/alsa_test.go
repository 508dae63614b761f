package sink

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// configure makes ALSA read nothing but this configuration, in which one
// device is defined.
func configure(t *testing.T, text string) {
	t.Helper()
	if _, err := loadALSA(); err != nil {
		absent(t, err.Error())
	}
	path := filepath.Join(t.TempDir(), "asound.conf")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	t.Setenv("ALSA_CONFIG_PATH", path)
}

// The file plugin over the null one plays at once, whatever it is given, and
// keeps it.
func TestALSAKeepsTheContractOnAFile(t *testing.T) {
	contract(t, func(t *testing.T) bench {
		raw := filepath.Join(t.TempDir(), "out.raw")
		configure(t, fmt.Sprintf(`
			pcm.nothing { type null }
			pcm.tape { type file slave.pcm nothing file %q format raw }`, raw))
		a, err := NewALSA("tape")
		require.NoError(t, err)
		return bench{sink: a, heard: func() []int16 {
			b, err := os.ReadFile(raw)
			require.NoError(t, err)
			samples := make([]int16, len(b)/2)
			for i := range samples {
				samples[i] = int16(binary.LittleEndian.Uint16(b[2*i:]))
			}
			return samples
		}}
	})
}

// Through PulseAudio, ALSA has a device with a real pace, and one that can
// vanish.
func TestALSAKeepsTheContractInRealTime(t *testing.T) {
	contract(t, func(t *testing.T) bench {
		s := startServer(t, "room")
		configure(t, fmt.Sprintf(`pcm.room { type pulse server %q }`, s.address()))
		s.wake("room")
		a, err := NewALSA("room")
		require.NoError(t, err)
		return bench{sink: a, unplug: s.unplug, lag: Buffer}
	})
}

func TestALSACountsRunningDry(t *testing.T) {
	s := startServer(t, "room")
	configure(t, fmt.Sprintf(`pcm.room { type pulse server %q }`, s.address()))
	s.wake("room")
	a, err := NewALSA("room")
	require.NoError(t, err)
	play := func() {
		for range 20 {
			require.NoError(t, a.Write(ramp(0, 480)))
		}
	}
	play()
	before := Underruns(a)
	for try := 0; try < 10 && Underruns(a) == before; try++ {
		time.Sleep(400 * time.Millisecond)
		play()
	}
	assert.Greater(t, Underruns(a), before)
	require.NoError(t, a.Close())
}

func TestALSASaysWhatIsWrong(t *testing.T) {
	configure(t, `pcm.nothing { type null }`)
	_, err := NewALSA("speaker")
	require.ErrorContains(t, err, "opening ALSA device speaker: ")
	s, _, err := Open("alsa:speaker", 1)
	assert.Nil(t, s)
	require.ErrorContains(t, err, "No such file or directory")

	s, words, err := Open("alsa:nothing", 1)
	require.NoError(t, err)
	assert.Equal(t, "ALSA device nothing", words)
	require.NoError(t, s.Close())
}
