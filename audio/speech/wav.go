package speech

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"

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
func ReadWAV(r io.Reader) (sound []float64, err error) {
	defer func() { // a damaged header can lead the decoder out of range
		if p := recover(); p != nil {
			sound, err = nil, fmt.Errorf("reading a WAV file: it is damaged: %v", p)
		}
	}()
	data, err := io.ReadAll(io.LimitReader(r, longestFile))
	if err != nil {
		return nil, fmt.Errorf("reading a WAV file: %w", err)
	}
	if err := checkChunks(data); err != nil {
		return nil, fmt.Errorf("reading a WAV file: %w", err)
	}
	s, format, err := wav.Decode(bytes.NewReader(data))
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
		}
		at += header + int(size+size%2)
	}
	return errors.New("it has no samples")
}
