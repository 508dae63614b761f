package sink

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	flag.Set("test.parallel", "8") // they wait for devices; a flag given by hand comes after
	goleak.VerifyTestMain(m)
}

// bench is one sink under the contract.
type bench struct {
	sink   Sink
	unplug func()         // makes the device vanish; nil where it can't
	heard  func() []int16 // everything heard, once closed; nil where nobody can tell
	lag    int            // what Delay may be beyond Buffer
}

// noticed bounds how long a vanished device may go unnoticed in a test on a
// busy machine. The log has the figure; on a quiet one it is under a second.
const noticed = 20 * time.Second

// contract is what the comments of Sink promise, tried on one.
func contract(t *testing.T, open func(t *testing.T) bench) {
	t.Helper()
	promises(t, func(*testing.T) {}, open)
}

// contractSideBySide tries each promise on a device of its own, all at the
// same time.
func contractSideBySide(t *testing.T, open func(t *testing.T) bench) {
	t.Helper()
	promises(t, (*testing.T).Parallel, open)
}

func promises(t *testing.T, begin func(*testing.T), open func(t *testing.T) bench) {
	t.Run("delay stays between nothing and what was written", func(t *testing.T) {
		begin(t)
		b := open(t)
		written := 0
		for range 40 {
			require.NoError(t, b.sink.Write(ramp(written, 480)))
			written += 480
			delay, err := b.sink.Delay()
			require.NoError(t, err)
			assert.GreaterOrEqual(t, delay, 0)
			assert.LessOrEqual(t, delay, min(written, Buffer+480)+b.lag)
		}
		require.NoError(t, b.sink.Close())
	})
	t.Run("a block may have any length", func(t *testing.T) {
		begin(t)
		b := open(t)
		written := 0
		for _, n := range []int{0, 1, 479, 0, 3 * Buffer, 7} {
			require.NoError(t, b.sink.Write(ramp(written, n)))
			written += n
		}
		require.NoError(t, b.sink.Close())
		if b.heard != nil {
			same(t, ramp(0, written), b.heard())
		}
	})
	t.Run("what is dropped counts as never written", func(t *testing.T) {
		begin(t)
		b := open(t)
		n, err := b.sink.Drop()
		require.NoError(t, err, "before anything was written")
		assert.Zero(t, n)
		position, dropped := 0, 0
		for range 3 {
			for range 20 {
				require.NoError(t, b.sink.Write(ramp(position, 480)))
				position += 480
			}
			n, err := b.sink.Drop()
			require.NoError(t, err)
			assert.GreaterOrEqual(t, n, 0)
			assert.LessOrEqual(t, n, Buffer+480+b.lag)
			left, err := b.sink.Delay()
			require.NoError(t, err)
			assert.LessOrEqual(t, left, b.lag, "after a drop")
			position -= n
			dropped += n
		}
		require.NoError(t, b.sink.Close())
		if b.heard != nil {
			same(t, ramp(0, position), b.heard())
		}
		t.Logf("dropped %d samples in three", dropped)
	})
	t.Run("a drop may follow a drop", func(t *testing.T) {
		begin(t)
		b := open(t)
		require.NoError(t, b.sink.Write(ramp(0, 480)))
		_, err := b.sink.Drop()
		require.NoError(t, err)
		n, err := b.sink.Drop()
		require.NoError(t, err)
		assert.Zero(t, n)
		require.NoError(t, b.sink.Write(ramp(0, 480)))
		require.NoError(t, b.sink.Close())
	})
	t.Run("closing again does nothing, and nothing else works", func(t *testing.T) {
		begin(t)
		b := open(t)
		require.NoError(t, b.sink.Write(ramp(0, 480)))
		require.NoError(t, b.sink.Close())
		require.NoError(t, b.sink.Close())
		err := b.sink.Write(ramp(0, 480))
		require.Error(t, err)
		assert.NotErrorIs(t, err, ErrGone)
		_, err = b.sink.Delay()
		require.Error(t, err)
		_, err = b.sink.Drop()
		require.Error(t, err)
	})
	t.Run("a vanished device is noticed within a second", func(t *testing.T) {
		begin(t)
		b := open(t)
		if b.unplug == nil {
			b.sink.Close()
			t.Skip("this device can't vanish")
		}
		for range 20 {
			require.NoError(t, b.sink.Write(ramp(0, 480)))
		}
		b.unplug()
		gone := time.Now()
		var err error
		for err == nil && time.Since(gone) < noticed {
			err = b.sink.Write(ramp(0, 480))
		}
		took := time.Since(gone)
		require.ErrorIs(t, err, ErrGone)
		assert.Less(t, took, noticed)
		t.Logf("noticed after %v: %v", took, err)
		require.ErrorIs(t, b.sink.Write(ramp(0, 480)), ErrGone, "and it stays gone")
		_, err = b.sink.Drop()
		require.ErrorIs(t, err, ErrGone)
		require.ErrorIs(t, b.sink.Close(), ErrGone)
	})
}

// same compares samples without printing them all.
func same(t *testing.T, want, got []int16) {
	t.Helper()
	require.Equal(t, len(want), len(got), "samples")
	for i := range want {
		require.Equal(t, want[i], got[i], "sample %d", i)
	}
}

// ramp is n samples whose values tell their position.
func ramp(from, n int) []int16 {
	b := make([]int16, n)
	for i := range b {
		b[i] = int16((from+i)%30000 + 1)
	}
	return b
}

func TestFakeKeepsTheContract(t *testing.T) {
	contract(t, func(t *testing.T) bench {
		f := &Fake{}
		return bench{sink: f, unplug: f.Unplug, heard: func() []int16 { return f.Heard }}
	})
}

func TestFakeCountsRunningDry(t *testing.T) {
	f := &Fake{}
	f.Advance(10)
	assert.Zero(t, Underruns(f), "before anything was written")
	require.NoError(t, f.Write(ramp(0, 480)))
	f.Advance(480)
	assert.Zero(t, Underruns(f), "it played all it had, and no more was due")
	f.Advance(1)
	f.Advance(1)
	assert.Equal(t, 1, Underruns(f), "one gap, however long")
	assert.Equal(t, ramp(0, 480), f.Heard)
}

func TestSilentKeepsTheContract(t *testing.T) {
	for _, speed := range []float64{1, 16, 0} {
		contract(t, func(t *testing.T) bench { return bench{sink: NewSilent(speed)} })
	}
}

func TestRecorderKeepsTheContract(t *testing.T) {
	for _, speed := range []float64{1, 16, 0} {
		contract(t, func(t *testing.T) bench {
			path := filepath.Join(t.TempDir(), "out.wav")
			r, err := NewRecorder(path, speed)
			require.NoError(t, err)
			return bench{sink: r, heard: func() []int16 { return readWAV(t, path) }}
		})
	}
}

func TestSilentTakesAsLongAsItsSamples(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for _, speed := range []float64{1, 2, 60} {
			s, begin := NewSilent(speed), time.Now()
			for range 100 * 3600 { // an hour
				require.NoError(t, s.Write(make([]int16, 480)))
			}
			delay, err := s.Delay()
			require.NoError(t, err)
			assert.InDelta(t, Buffer, delay, 1)
			require.NoError(t, s.Close())
			want := time.Duration(float64(time.Hour) / speed)
			assert.InDelta(t, want, time.Since(begin), float64(time.Microsecond))
		}
	})
}

func TestSilentPlaysAsTimeGoesBy(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := NewSilent(1)
		require.NoError(t, s.Write(make([]int16, 2400))) // 50 ms
		time.Sleep(20 * time.Millisecond)
		delay, err := s.Delay()
		require.NoError(t, err)
		assert.Equal(t, 1440, delay)

		n, err := s.Drop()
		require.NoError(t, err)
		assert.Equal(t, 1440, n)
		time.Sleep(time.Hour)
		require.NoError(t, s.Write(make([]int16, 480)))
		delay, err = s.Delay()
		require.NoError(t, err)
		assert.Equal(t, 480, delay, "the clock starts anew with what is written next")
		require.NoError(t, s.Close())
	})
}

func TestSilentForgivesALateWriterAndNotALongGap(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, begin := NewSilent(1), time.Now()
		second := func() {
			for range 100 {
				require.NoError(t, s.Write(make([]int16, 480)))
			}
		}
		second()
		time.Sleep(150 * time.Millisecond) // 70 ms late after the 80 ms it held
		second()
		assert.Equal(t, 2*time.Second-80*time.Millisecond, time.Since(begin), "caught up")
		time.Sleep(10 * time.Minute)
		second()
		assert.Equal(t, 10*time.Minute+3*time.Second-2*80*time.Millisecond, time.Since(begin), "not raced through")
		require.NoError(t, s.Close())
	})
}

func TestOpenSaysWhatItChose(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		spec  string
		speed float64
		words string
	}{
		{"silent", 1, "the silent clock: nothing will be heard"},
		{"silent", 0, "the silent clock as fast as it can: nothing will be heard"},
		{"silent", 2.5, "the silent clock at 2.5 times real time: nothing will be heard"},
		{"auto", 10, "the silent clock at 10 times real time: nothing will be heard"},
		{"wav:" + dir + "/a:b.wav", 0, "WAV file " + dir + "/a:b.wav as fast as it can: nothing will be heard"},
	} {
		s, words, err := Open(c.spec, c.speed)
		require.NoError(t, err, c.spec)
		assert.Equal(t, c.words, words)
		require.NoError(t, s.Close())
	}
}

func TestOpenRefuses(t *testing.T) {
	for _, c := range []struct {
		spec  string
		speed float64
		want  string
	}{
		{"speaker", 1, `sink "speaker": not known; it may be auto, alsa, alsa:DEVICE, pulse, silent or wav:FILE`},
		{"wav:", 1, "not known"},
		{"alsa:", 1, "not known"},
		{"", 1, "not known"},
		{"silent:x", 1, "not known"},
		{"silent", -1, "speed -1: give a number above 0"},
		{"alsa", 2, "speed 2: only the silent sink"},
		{"pulse", 0, "speed 0: only the silent sink"},
		{"wav:" + os.TempDir(), 1, "not a file that a WAV could replace"},
		{"wav:/nowhere/at/all.wav", 1, "no such file or directory"},
	} {
		s, _, err := Open(c.spec, c.speed)
		assert.Nil(t, s, c.spec)
		assert.ErrorContains(t, err, c.want, c.spec)
	}
}

func TestOpeningIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		late := &Fake{}
		begin := time.Now()
		s, err := within(opening, func() (*Fake, error) {
			time.Sleep(time.Minute)
			return late, nil
		})
		assert.Nil(t, s)
		require.ErrorContains(t, err, "did not answer for 3s")
		assert.Equal(t, opening, time.Since(begin))
		time.Sleep(time.Minute)
		synctest.Wait()
		assert.True(t, late.closed, "a device that comes too late is let go")
	})
}
