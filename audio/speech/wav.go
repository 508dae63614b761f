package speech

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"github.com/gopxl/beep/v2"
	"github.com/gopxl/beep/v2/wav"
)

const (
	resampleQuality  = 6            // half the width of the interpolation
	longestSpeech    = 60 * Rate    // samples, after resampling
	longestFile      = 72 << 20     // bytes: a minute of the most there may be
	slowest, fastest = 8000, 192000 // samples a second of a file
)

// ReadWAV reads speech from a WAV file, mono or stereo, of 8 to 192 kHz, and
// gives it at Rate, the two sides of stereo as one. It refuses more than a
// minute.
func ReadWAV(r io.Reader) ([]float64, error) {
	data, err := io.ReadAll(io.LimitReader(r, longestFile))
	if err != nil {
		return nil, fmt.Errorf("reading a WAV file: %w", err)
	}
	sound, err := read(data, decodeWAV)
	if err != nil {
		return nil, fmt.Errorf("reading a WAV file: %w", err)
	}
	return sound, nil
}

// decoder opens a file's samples as they are in it.
type decoder func(file []byte) (beep.Streamer, beep.Format, error)

func decodeWAV(file []byte) (beep.Streamer, beep.Format, error) {
	if err := checkChunks(file); err != nil {
		return nil, beep.Format{}, err
	}
	return wav.Decode(bytes.NewReader(file))
}

// read gives a file's sound at Rate, mono.
func read(file []byte, decode decoder) (sound []float64, err error) {
	defer func() { // a damaged file can lead a decoder out of range
		if p := recover(); p != nil {
			sound, err = nil, fmt.Errorf("it is damaged: %v", p)
		}
	}()
	s, format, err := decode(file)
	if err != nil {
		return nil, err
	}
	if format.SampleRate < slowest || format.SampleRate > fastest {
		return nil, fmt.Errorf("it has %d samples a second; from %d to %d", format.SampleRate, slowest, fastest)
	}
	if sound, err = mono(s, format.SampleRate.N(time.Minute)); err != nil || format.SampleRate == Rate {
		return sound, err
	}
	if format.SampleRate > Rate {
		sound = lowPass(sound, float64(format.SampleRate)/Rate)
	}
	return mono(beep.Resample(resampleQuality, format.SampleRate, Rate, streamer(sound)), longestSpeech)
}

// mono reads a stream of no more than most samples, its two sides as one.
func mono(s beep.Streamer, most int) (sound []float64, err error) {
	block := make([][2]float64, 4096)
	for {
		n, ok := s.Stream(block)
		for _, x := range block[:n] {
			sound = append(sound, (x[0]+x[1])/2)
		}
		if len(sound) > most {
			return nil, errors.New("it is longer than a minute")
		}
		if !ok || n < len(block) { // a file that says it is longer streams nothing for ever
			return sound, s.Err()
		}
	}
}

// streamer streams a sound on both sides.
func streamer(sound []float64) beep.Streamer {
	return beep.StreamerFunc(func(block [][2]float64) (n int, ok bool) {
		n = min(len(block), len(sound))
		for i, x := range sound[:n] {
			block[i] = [2]float64{x, x}
		}
		sound = sound[n:]
		return n, n > 0
	})
}

// passband is how much of what Rate can carry is let through, and lowPassHalf
// how many samples at Rate the filter reaches to either side: above
// half of Rate 60 dB are taken off.
const (
	passband    = 0.9
	lowPassHalf = 40
)

// lowPass takes out what Rate can't carry of a sound of over times its rate:
// the resampler alone would fold it down to where it is heard. It is a sinc
// under a Blackman window.
func lowPass(sound []float64, over float64) []float64 {
	half := int(lowPassHalf * over)
	kernel := make([]float64, 2*half+1)
	sum := 0.0
	for i := range kernel {
		t := float64(i - half)
		x, at := math.Pi*passband*t/over, math.Pi*t/float64(half+1)
		kernel[i] = 0.42 + 0.5*math.Cos(at) + 0.08*math.Cos(2*at)
		if t != 0 {
			kernel[i] *= math.Sin(x) / x
		}
		sum += kernel[i]
	}
	out := make([]float64, len(sound))
	for n := range sound {
		for i := max(0, half-n); i < len(kernel) && n+i-half < len(sound); i++ {
			out[n] += sound[n+i-half] * kernel[i]
		}
		out[n] /= sum
	}
	return out
}

// isPCM reports whether a format is PCM of as many bits as the decoder reads.
// Where it is the extensible one, what it is stands behind.
func isPCM(format []byte, bits uint16) bool {
	const pcm, extensible, behind = 1, 0xfffe, 24
	tag := binary.LittleEndian.Uint16(format)
	if tag == extensible && len(format) >= behind+2 {
		tag = binary.LittleEndian.Uint16(format[behind:])
	}
	return tag == pcm && (bits == 8 || bits == 16 || bits == 24)
}

// checkChunks looks over the parts of a WAV file up to its samples: the decoder
// believes whatever sizes it reads there.
func checkChunks(data []byte) error {
	const header, most = 8, 40
	for at := 12; at+header <= len(data); {
		name, size := string(data[at:at+4]), int64(binary.LittleEndian.Uint32(data[at+4:]))
		body := data[at+header:]
		switch {
		case name == "data":
			return nil
		case size > int64(len(body)):
			return fmt.Errorf("it is cut off: its part %q has %d bytes of %d", name, len(body), size)
		case name == "fmt " && (size < 16 || size > most):
			return fmt.Errorf("its format is described in %d bytes, not in 16 to %d", size, most)
		case name == "fmt ":
			channels, frame, bits := binary.LittleEndian.Uint16(body[2:]), binary.LittleEndian.Uint16(body[12:]), binary.LittleEndian.Uint16(body[14:])
			if channels < 1 || channels > 2 || frame != channels*bits/8 {
				return fmt.Errorf("it has %d channels of %d bits in %d bytes; one or two channels", channels, bits, frame)
			}
			if !isPCM(body[:size], bits) {
				return errors.New("its samples are packed, or floating point; save it as plain 16-bit PCM")
			}
		}
		at += header + int(size+size%2)
	}
	return errors.New("it has no samples")
}
