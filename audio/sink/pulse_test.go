package sink

import (
	"bytes"
	"os"
	"os/exec"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// peer finds an outside program, or skips the test (fails it where peers are
// required).
func peer(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		absent(t, name+" is not installed")
	}
	return path
}

func absent(t testing.TB, why string) {
	t.Helper()
	if os.Getenv("EVENBELL_PEERS") == "required" {
		t.Fatal(why)
	}
	t.Skip(why)
}

func TestPulseKeepsTheContract(t *testing.T) {
	contractSideBySide(t, func(t *testing.T) bench {
		s := startServer(t, "room")
		p, err := NewPulse(s.address())
		require.NoError(t, err)
		// The null output renders a period ahead and does not take all of it back.
		return bench{sink: p, unplug: s.unplug, lag: Buffer}
	})
}

func TestPulseNoticesEveryWayToVanish(t *testing.T) {
	for name, vanish := range map[string]func(*server){
		"output removed": (*server).unplug,
		"another output is there to go to": func(s *server) {
			require.NoError(s.t, s.command("pactl", "load-module", "module-null-sink", "sink_name=other").Run())
			id, err := s.command("sh", "-c", "pactl list short modules | grep sink_name=room | cut -f1").Output()
			require.NoError(s.t, err)
			require.NoError(s.t, s.command("pactl", "unload-module", string(bytes.TrimSpace(id))).Run())
		},
		"output suspended": func(s *server) {
			require.NoError(s.t, s.command("pactl", "suspend-sink", "room", "1").Run())
		},
		"server hung":   (*server).halt,
		"server killed": func(s *server) { require.NoError(s.t, s.process.Process.Kill()) },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := startServer(t, "room")
			p, err := NewPulse(s.address())
			require.NoError(t, err)
			for range 20 {
				require.NoError(t, p.Write(ramp(0, 480)))
			}
			vanish(s)
			begin := time.Now()
			for err == nil && time.Since(begin) < noticed {
				if err = p.Write(ramp(0, 480)); err == nil {
					_, err = p.Delay()
				}
			}
			took := time.Since(begin)
			require.ErrorIs(t, err, ErrGone)
			assert.Less(t, took, noticed)
			t.Logf("noticed after %v: %v", took.Round(time.Millisecond), err)
			require.ErrorIs(t, p.Close(), ErrGone)
		})
	}
}

func TestPulseCountsRunningDry(t *testing.T) {
	t.Parallel()
	s := startServer(t, "room")
	p, err := NewPulse(s.address())
	require.NoError(t, err)
	play := func() {
		for range 20 {
			require.NoError(t, p.Write(ramp(0, 480)))
		}
	}
	play()
	before := Underruns(p)
	time.Sleep(400 * time.Millisecond)
	play()
	assert.Eventually(t, func() bool { return Underruns(p) > before }, 30*time.Second, time.Millisecond)
	_, err = p.Drop()
	require.NoError(t, err)
	before = Underruns(p)
	time.Sleep(200 * time.Millisecond)
	assert.Equal(t, before, Underruns(p), "silence after a drop is no underrun")
	require.NoError(t, p.Close())
}

func TestPulsePlaysEverySampleAndNothingThatWasDropped(t *testing.T) {
	s := startServer(t, "room")
	tape := s.record("room")
	p, err := NewPulse(s.address())
	require.NoError(t, err)
	// What is played first may be late on the tape: a monitor is given its
	// samples a little ahead of time, and keeps those that were taken back.
	require.NoError(t, p.Write(make([]int16, Rate/10)))
	for i := range 50 {
		require.NoError(t, p.Write(ramp(480*i, 480)))
	}
	n, err := p.Drop()
	require.NoError(t, err)
	kept := 480*50 - n
	require.NoError(t, p.Write(make([]int16, Rate/10)))
	require.NoError(t, p.Write(slices.Repeat([]int16{-77}, Rate/2)))
	require.NoError(t, p.Close())
	heard := tape.stop()
	if Underruns(p) > 0 {
		t.Skip("this machine was too busy to play without an underrun")
	}
	start := slices.Index(heard, 1)
	require.GreaterOrEqual(t, start, 0, "nothing was recorded")
	ran := 0
	for start+ran < len(heard) && heard[start+ran] == int16(ran+1) {
		ran++
	}
	assert.GreaterOrEqual(t, ran, kept, "a sample was lost")
	assert.LessOrEqual(t, ran, kept+Buffer/4, "dropped samples were played")
	assert.Equal(t, Rate/2, count(heard[start+ran:], -77), "what follows a drop is played whole")
	assert.Equal(t, ran, len(heard)-start-count(heard[start:], 0)-Rate/2, "and nothing else is")
}

func count(block []int16, value int16) (n int) {
	for _, v := range block {
		if v == value {
			n++
		}
	}
	return n
}

func TestOpenFindsPulse(t *testing.T) {
	if lib, err := loadALSA(); err == nil && lib.hasCard() {
		t.Skip("this machine has a sound card, which comes first")
	}
	s := startServer(t, "room")
	t.Setenv("PULSE_SERVER", s.address())
	sink, words, err := Open("auto", 1)
	require.NoError(t, err)
	assert.Contains(t, words, "PulseAudio output room (ALSA: ")
	assert.IsType(t, &Pulse{}, sink)
	require.NoError(t, sink.Close())

	t.Setenv("PULSE_SERVER", "unix:"+s.dir+"/nobody")
	sink, words, err = Open("auto", 1)
	require.NoError(t, err)
	assert.Contains(t, words, "no sound device: nothing will be heard (ALSA: ")
	assert.IsType(t, &Silent{}, sink)
	require.NoError(t, sink.Close())

	sink, _, err = Open("pulse", 1)
	assert.Nil(t, sink)
	require.ErrorContains(t, err, "connecting to PulseAudio")
}

func TestOpenDoesNotTakeADummyForASoundDevice(t *testing.T) {
	if lib, err := loadALSA(); err == nil && lib.hasCard() {
		t.Skip("this machine has a sound card, which comes first")
	}
	s := startServer(t, dummyOutput)
	t.Setenv("PULSE_SERVER", s.address())
	sink, words, err := Open("auto", 1)
	require.NoError(t, err)
	assert.IsType(t, &Silent{}, sink)
	assert.Contains(t, words, "nothing will be heard (ALSA: ")
	assert.Contains(t, words, "PulseAudio has nothing but its dummy output")
	require.NoError(t, sink.Close())

	sink, words, err = Open("pulse", 1)
	require.NoError(t, err, "asked for by name it is used, with the same warning")
	assert.Equal(t, "PulseAudio output auto_null, a dummy: nothing will be heard", words)
	require.NoError(t, sink.Close())
}
