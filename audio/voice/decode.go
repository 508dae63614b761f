package voice

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"

	"github.com/hajimehoshi/go-mp3"

	"evenbell/audio"
)

// Clip is a decoded clip: mono, played at 48 kHz and held at half of it. It is
// immutable.
type Clip struct{ audio.Clip }

// decode reads a clip's file and trims it to exactly what the manifest says.
func (p *Pack) decode(c ClipInfo) (*Clip, error) {
	data, err := fs.ReadFile(p.fsys, c.File)
	if err != nil {
		return nil, fmt.Errorf("reading voice clip %q: %w", c.ID, err)
	}
	raw, err := DecodeMP3(data)
	if err != nil {
		return nil, fmt.Errorf("decoding voice clip %q: %w", c.ID, err)
	}
	if want := c.Skip + c.Samples/2; len(raw) < want {
		return nil, fmt.Errorf("decoding voice clip %q: %s has %d samples, the manifest needs %d", c.ID, c.File, len(raw), want)
	}
	return &Clip{audio.HalfClip(slices.Clone(raw[c.Skip : c.Skip+c.Samples/2]))}, nil
}

// frameBytes is one sample as the decoder gives it: left and right, which are
// the same in a mono file, 16 bits each, low byte first.
const frameBytes = 4

// DecodeMP3 gives a mono file's samples at FileRate as they come from the
// decoder, with the encoder's delay still before them.
func DecodeMP3(data []byte) (samples []int16, err error) {
	defer func() { // the decoder indexes out of range on some damaged frames
		if r := recover(); r != nil {
			samples, err = nil, fmt.Errorf("the file is damaged: %v", r)
		}
	}()
	d, err := mp3.NewDecoder(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	if d.SampleRate() != FileRate {
		return nil, fmt.Errorf("it has %d samples a second, not %d", d.SampleRate(), FileRate)
	}
	if d.Length() > frameBytes*longestClip {
		return nil, fmt.Errorf("it is longer than a minute")
	}
	frames := make([]byte, max(0, d.Length()))
	n, err := io.ReadFull(d, frames)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, err
	}
	samples = make([]int16, n/frameBytes)
	for i := range samples {
		samples[i] = int16(binary.LittleEndian.Uint16(frames[i*frameBytes:]))
	}
	return samples, nil
}
