package speech

import (
	"bytes"
	"encoding/binary"
	"math"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio/loudness"
)

// spoke is something like speech: syllables of a harmonic tone, with silence
// before and after, as interleaved samples of a recorder.
func spoke(rate, channels int, seconds, level float64) []int16 {
	silence, n := rate/2, int(seconds*float64(rate))
	out := make([]int16, channels*(2*silence+n))
	for i := range n {
		t := float64(i) / float64(rate)
		x := 0.0
		for k := 1.0; k <= 6; k++ {
			x += math.Sin(2*math.Pi*140*k*t+k) / k
		}
		x *= level / 1.7 * (0.65 + 0.35*math.Sin(2*math.Pi*3.1*t))
		for c := range channels {
			out[channels*(silence+i)+c] = int16(math.Round(32767 * max(-1, min(1, x))))
		}
	}
	return out
}

func TestALineIsMadeOfARecording(t *testing.T) {
	for name, file := range map[string][]byte{
		"44.1 kHz stereo": wavFile(44100, 2, spoke(44100, 2, 1.5, 0.2)),
		"48 kHz mono":     wavFile(48000, 1, spoke(48000, 1, 1.5, 0.8)),
		"16 kHz, quiet":   wavFile(16000, 1, spoke(16000, 1, 1.5, 0.05)),
		"an MP3":          mpeg(t, wavFile(44100, 1, spoke(44100, 1, 1.5, 0.4))),
	} {
		pcm, err := Line(file, 2*Rate)
		require.NoError(t, err, name)
		assert.InDelta(t, 1.5*Rate, len(pcm), 0.06*Rate, "%s: the silence around it is gone", name)
		loud := make([]float64, len(pcm))
		for i, x := range pcm {
			loud[i] = float64(x) / 32768
		}
		level, err := Loudness(loud)
		require.NoError(t, err)
		assert.InDelta(t, TargetLUFS, level, 0.5, name)
		m, err := loudness.NewMeter(Rate, 1)
		require.NoError(t, err)
		m.Write(loud)
		assert.Less(t, m.TruePeak(), -1.0, name)
		back, err := ReadLine(WAV(pcm))
		require.NoError(t, err)
		assert.Equal(t, pcm, back, "%s: the file has every sample", name)
	}
}

// mpeg encodes a WAV file as a person's recorder would.
func mpeg(t *testing.T, file []byte) []byte {
	need(t, "lame")
	cmd := exec.Command("lame", "--quiet", "-b", "96", "-", "-")
	var out bytes.Buffer
	cmd.Stdin, cmd.Stdout = bytes.NewReader(file), &out
	require.NoError(t, cmd.Run())
	return out.Bytes()
}

func TestARecordingThatCannotBeALineSaysWhy(t *testing.T) {
	good := wavFile(44100, 1, spoke(44100, 1, 1.5, 0.3))
	cut := bytes.Clone(good[:len(good)/2])
	hum := make([]int16, 44100)
	for i := range hum {
		hum[i] = int16(40 * math.Sin(float64(i)/30))
	}
	lie := bytes.Clone(good)
	binary.LittleEndian.PutUint32(lie[40:], math.MaxInt32)
	eight := bytes.Clone(good[:44])
	binary.LittleEndian.PutUint16(eight[32:], 1)
	binary.LittleEndian.PutUint16(eight[34:], 8)
	float := bytes.Clone(good)
	binary.LittleEndian.PutUint16(float[20:], 3)
	bits := bytes.Clone(good)
	binary.LittleEndian.PutUint16(bits[32:], 4)
	binary.LittleEndian.PutUint16(bits[34:], 32)
	for want, file := range map[string][]byte{
		"floating point; save it as":      float,
		"save it as plain 16-bit PCM":     bits,
		"behind what is said about it":    append([]byte("ID3\x03\x00\x00\x7f\x7f\x7f\x7f"), good...),
		"can't be read as an MP3 file":    []byte("ID3\x03\x00\x00\x00\x00\x00\x00 and no sound"),
		"neither a WAV nor an MP3":        []byte("OggS and so on"),
		"neither":                         nil,
		"it has no samples":               good[:36],
		"8 bits a sample":                 append(eight, make([]byte, 44100)...),
		"nothing but silence":             wavFile(44100, 1, make([]int16, 44100)),
		"too quiet":                       wavFile(44100, 1, hum),
		"it is clipped":                   wavFile(44100, 1, spoke(44100, 1, 1.5, 2.5)),
		"only 0.1 s of sound":             wavFile(44100, 1, spoke(44100, 1, 0.05, 0.3)),
		"it takes 2.5 s, and these words": wavFile(44100, 1, spoke(44100, 1, 2.5, 0.3)),
		"longer than a minute":            wavFile(8000, 1, spoke(8000, 1, 61, 0.3)),
		"4000 samples a second":           wavFile(4000, 1, spoke(4000, 1, 1, 0.3)),
	} {
		_, err := Line(file, 2*Rate)
		assert.ErrorContains(t, err, want)
	}
	_, err := Line(wavFile(44100, 1, spoke(44100, 1, 16, 0.3)), 60*Rate)
	require.ErrorContains(t, err, "may take 15.0 s", "whatever the words")
	// A file that is cut, or says that it is longer, is what is there of it.
	for _, file := range [][]byte{cut, lie} {
		_, err := Line(file, 2*Rate)
		require.NoError(t, err)
	}
}

func TestALinesFileIsTakenExactlyOrNotAtAll(t *testing.T) {
	file := WAV(make([]int16, 100))
	for i := range lineHeader {
		bad := bytes.Clone(file)
		bad[i] ^= 1
		_, err := ReadLine(bad)
		assert.Error(t, err, "byte %d", i)
	}
	for _, bad := range [][]byte{nil, file[:lineHeader], file[:len(file)-1], append(bytes.Clone(file), 0, 0), WAV(make([]int16, LongestLine+1))} {
		_, err := ReadLine(bad)
		assert.Error(t, err)
	}
}

func FuzzLine(f *testing.F) {
	f.Add(wavFile(16000, 1, []int16{1, 2, 3, 4}))
	f.Add([]byte("ID3\x03\x00\x00\x00\x00\x00\x00\xff\xfb\x90\x00"))
	f.Add([]byte{0xff, 0xfb, 0x90, 0x64, 0, 0, 0, 0})
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		pcm, err := Line(data, Rate)
		require.Equal(t, err != nil, len(pcm) == 0)
		require.LessOrEqual(t, len(pcm), Rate)
	})
}
