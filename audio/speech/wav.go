package speech

import (
	"errors"
	"fmt"
	"io"

	"github.com/gopxl/beep/v2"
	"github.com/gopxl/beep/v2/wav"
)

const (
	// resampleQuality is the half-width of the interpolation.
	resampleQuality = 6
	// longestSpeech is a minute, at Rate.
	longestSpeech    = 60 * Rate
	slowest, fastest = 8000, 192000 // samples a second of a file
)

// ReadWAV reads speech from a WAV file, mono or stereo, of 8 to 192 kHz, and
// gives it at Rate, the two sides of stereo as one. It refuses more than a
// minute.
func ReadWAV(r io.Reader) (sound []float64, err error) {
	defer func() { // a damaged header can lead the decoder out of range
		if p := recover(); p != nil {
			sound, err = nil, fmt.Errorf("reading a WAV file: it is damaged: %v", p)
		}
	}()
	s, format, err := wav.Decode(r)
	if err != nil {
		return nil, fmt.Errorf("reading a WAV file: %w", err)
	}
	if format.SampleRate < slowest || format.SampleRate > fastest {
		return nil, fmt.Errorf("reading a WAV file: it has %d samples a second; from %d to %d", format.SampleRate, slowest, fastest)
	}
	at := beep.Resample(resampleQuality, format.SampleRate, Rate, s)
	block := make([][2]float64, 4096)
	for {
		n, ok := at.Stream(block)
		for _, x := range block[:n] {
			sound = append(sound, (x[0]+x[1])/2)
		}
		if len(sound) > longestSpeech {
			return nil, errors.New("reading a WAV file: it is longer than a minute")
		}
		if !ok {
			return sound, at.Err()
		}
	}
}
