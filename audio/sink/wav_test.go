package sink

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"github.com/gopxl/beep/v2/wav"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// readWAV reads a file's samples, its format checked by another's decoder.
func readWAV(t *testing.T, path string) []int16 {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	stream, format, err := wav.Decode(f)
	require.NoError(t, err)
	assert.EqualValues(t, Rate, format.SampleRate)
	assert.Equal(t, 1, format.NumChannels)
	assert.Equal(t, 2, format.Precision)

	raw, err := os.ReadFile(path)
	require.NoError(t, err)
	samples := make([]int16, (len(raw)-headerBytes)/2)
	assert.Equal(t, stream.Len(), len(samples))
	for i := range samples {
		samples[i] = int16(binary.LittleEndian.Uint16(raw[headerBytes+2*i:]))
	}
	return samples
}

func TestWAVAppearsWhole(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.wav")
	require.NoError(t, os.WriteFile(path, []byte("before"), 0o644))
	w, err := NewWAV(path)
	require.NoError(t, err)
	for i := range 400 { // more than its buffer
		require.NoError(t, w.Write(ramp(480*i, 480)))
	}
	there, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "before", string(there), "nothing changes before Close")
	require.NoError(t, w.Close())
	require.NoError(t, w.Close())
	same(t, ramp(0, 480*400), readWAV(t, path))
	assert.Len(t, folder(t, path), 1)
	require.Error(t, w.Write(ramp(0, 1)))
}

func TestWAVKeepsTheExtremes(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.wav")
	w, err := NewWAV(path)
	require.NoError(t, err)
	want := []int16{-32768, -1, 0, 1, 32767}
	require.NoError(t, w.Write(want))
	require.NoError(t, w.Close())
	assert.Equal(t, want, readWAV(t, path))
}

func TestWAVIsCutExactly(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.wav")
	w, err := NewWAV(path)
	require.NoError(t, err)
	require.NoError(t, w.Write(ramp(0, 50000)))
	require.NoError(t, w.Cut(1234))
	require.NoError(t, w.Write(ramp(48766, 1000)))
	require.ErrorContains(t, w.Cut(60000), "60000 samples can't be cut off 49766")
	assert.EqualValues(t, 49766, w.Samples())
	require.NoError(t, w.Close())
	same(t, ramp(0, 49766), readWAV(t, path))
}

func TestWAVGivenUpLeavesNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.wav")
	w, err := NewWAV(path)
	require.NoError(t, err)
	require.NoError(t, w.Write(ramp(0, 50000)))
	require.NoError(t, w.Discard())
	require.NoError(t, w.Close(), "after Discard, Close does nothing")
	assert.Empty(t, folder(t, path))
}

func TestWAVRefusesWhatIsNoFile(t *testing.T) {
	_, err := NewWAV("/dev/null")
	require.ErrorContains(t, err, "writing /dev/null: not a file that a WAV could replace")
}

func TestWAVThatCannotBeWrittenDoesNotAppear(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.wav")
	w, err := NewWAV(path)
	require.NoError(t, err)
	require.NoError(t, w.file.File.Close()) // the disk goes away
	require.NoError(t, w.Write(ramp(0, 10)), "still in memory")
	require.ErrorContains(t, w.Close(), "writing "+path)
	assert.Empty(t, folder(t, path))
}

// folder lists what stands beside a file.
func folder(t *testing.T, path string) []os.DirEntry {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	return entries
}

func BenchmarkWAV(b *testing.B) {
	w, err := NewWAV(filepath.Join(b.TempDir(), "out.wav"))
	require.NoError(b, err)
	block := ramp(0, 480)
	b.SetBytes(960)
	b.ReportAllocs()
	for b.Loop() {
		require.NoError(b, w.Write(block))
		if w.samples > 60*Rate {
			require.NoError(b, w.Cut(int(w.samples)))
		}
	}
	require.NoError(b, w.Discard())
}
