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
	at := beep.Resample(resampleQuality, format.SampleRate, Rate, s)
	block := make([][2]float64, 4096)
	for {
		n, ok := at.Stream(block)
		for _, x := range block[:n] {
			sound = append(sound, (x[0]+x[1])/2)
		}
		if len(sound) > longestSpeech {
			return nil, errors.New("it is longer than a minute")
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
