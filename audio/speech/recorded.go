package speech

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/gopxl/beep/v2"
	"github.com/gopxl/beep/v2/mp3"
)

// What a recorded line may be. The levels are common practice, no source.
const (
	LongestLine  = 15 * Rate  // samples, whatever the words
	shortestLine = Rate / 5   // samples: no word is shorter
	quietest     = -45.0      // LUFS: what is quieter is mostly the room
	clippedRun   = 3          // samples alike at the top make a flat top
	clippedRuns  = 3          // so many flat tops are no accident
	clippedFrom  = 0.5        // of full scale: below it nothing clips
	riffHeader   = "RIFF"     // begins a WAV file
	bytesASample = 2          // of a line's
	lineHeader   = 44         // bytes before a line's samples
	oneChannel   = uint16(1)  // and PCM, which has the same number
	bitsASample  = uint16(16) // of a line's
)

// Line makes a line of a voice of what a person recorded, a WAV or MP3 file:
// mono, at Rate, trimmed and as loud as the packs are. most is how long it may
// be, in samples; never more than LongestLine. The error says what is wrong
// with the recording, in words for who made it.
func Line(file []byte, most int) ([]int16, error) {
	tops := &flatTops{}
	sound, err := read(file, func(file []byte) (beep.Streamer, beep.Format, error) {
		s, format, err := decodeRecording(file)
		tops.Streamer = s
		return tops, format, err
	})
	if err != nil {
		return nil, err
	}
	if tops.clipped() {
		return nil, errors.New("it is clipped: it was recorded too loud; record it again from further away, or with the level turned down")
	}
	clip, err := trim(sound)
	if err != nil {
		return nil, err
	}
	if level, err := Loudness(clip); err != nil || level < quietest {
		return nil, errors.New("it is too quiet; record it again from nearer, or with the level turned up")
	}
	most = min(most, LongestLine)
	switch {
	case len(clip) < shortestLine:
		return nil, fmt.Errorf("there are only %s s of sound in it; at least %s s", seconds(len(clip)), seconds(shortestLine))
	case len(clip) > most:
		return nil, fmt.Errorf("without the silence around it it takes %s s, and these words may take %s s; speak them faster, or record it again without noise before and after", seconds(len(clip)), seconds(most))
	}
	if clip, err = Shape(clip); err != nil {
		return nil, err
	}
	return PCM(clip), nil
}

// seconds is a length in tenths.
func seconds(samples int) string { return fmt.Sprintf("%.1f", float64(samples)/Rate) }

// decodeRecording tells the two kinds of file apart.
func decodeRecording(file []byte) (beep.Streamer, beep.Format, error) {
	none := func(err error) (beep.Streamer, beep.Format, error) { return nil, beep.Format{}, err }
	if bytes.HasPrefix(file, []byte(riffHeader)) {
		s, format, err := decodeWAV(file)
		if err == nil && format.Precision < bytesASample {
			err = errors.New("it has 8 bits a sample; record with 16 or more")
		}
		return s, format, err
	}
	mpeg := len(file) > 2 && file[0] == 0xff && file[1]&0xe0 == 0xe0
	if !mpeg && !bytes.HasPrefix(file, []byte("ID3")) {
		return none(errors.New("it is neither a WAV nor an MP3 file"))
	}
	if tagSize(file) > len(file) { // the decoder would make room for all of it
		return none(errors.New("it is cut off: it has no sound behind what is said about it"))
	}
	s, format, err := mp3.Decode(io.NopCloser(bytes.NewReader(file)))
	if err != nil {
		return none(fmt.Errorf("it can't be read as an MP3 file (%w)", err))
	}
	return s, format, nil
}

// tagSize is how long the ID3 tag in front of an MP3 file says that it is, four
// times seven bits; 0 where there is none.
func tagSize(file []byte) (size int) {
	const sizeAt, header = 6, 10
	if !bytes.HasPrefix(file, []byte("ID3")) || len(file) < header {
		return 0
	}
	for _, b := range file[sizeAt:header] {
		size = size<<7 | int(b&0x7f)
	}
	return size
}

// flatTops looks for clipping in what streams through: samples alike, one after
// the other, at the highest level there is. It must see them before anything is
// made of them.
type flatTops struct {
	beep.Streamer
	sides [2]top
}

// top is the highest level of one side, and the flat tops at that level.
type top struct {
	highest, last float64
	run, flat     int
}

// Stream is beep.Streamer's.
func (f *flatTops) Stream(samples [][2]float64) (int, bool) {
	n, ok := f.Streamer.Stream(samples)
	for _, x := range samples[:n] {
		for c := range f.sides {
			f.sides[c].see(x[c])
		}
	}
	return n, ok
}

func (t *top) see(x float64) {
	if level := math.Abs(x); level > t.highest {
		t.highest, t.flat, t.run = level, 0, 0
	}
	switch {
	case math.Abs(x) < t.highest:
		t.run = 0
	case x != t.last:
		t.run = 1
	default:
		if t.run++; t.run == clippedRun {
			t.flat++
		}
	}
	t.last = x
}

func (f *flatTops) clipped() bool {
	for _, t := range f.sides {
		if t.highest >= clippedFrom && t.flat >= clippedRuns {
			return true
		}
	}
	return false
}

// WAV is samples at Rate as a file: mono, 16-bit PCM.
func WAV(pcm []int16) []byte {
	size := bytesASample * len(pcm)
	b := append(make([]byte, 0, lineHeader+size), header(size)...)
	for _, x := range pcm {
		b = binary.LittleEndian.AppendUint16(b, uint16(x))
	}
	return b
}

// header begins such a file with so many bytes of samples.
func header(size int) []byte {
	var b bytes.Buffer
	for _, v := range []any{[]byte(riffHeader), uint32(lineHeader - 8 + size), []byte("WAVEfmt "), uint32(16), oneChannel, oneChannel, uint32(Rate),
		uint32(bytesASample * Rate), uint16(bytesASample), bitsASample, []byte("data"), uint32(size)} {
		_ = binary.Write(&b, binary.LittleEndian, v) // memory takes everything
	}
	return b.Bytes()
}

// ReadLine gives the samples of a file that WAV made, exactly; it takes no
// other.
func ReadLine(file []byte) ([]int16, error) {
	size := len(file) - lineHeader
	if size <= 0 || size%bytesASample != 0 || size > bytesASample*LongestLine || !bytes.Equal(file[:lineHeader], header(size)) {
		return nil, fmt.Errorf("it is no recorded line: not mono, 16 bits, %d samples a second, of at most %s s", Rate, seconds(LongestLine))
	}
	pcm := make([]int16, size/bytesASample)
	for i := range pcm {
		pcm[i] = int16(binary.LittleEndian.Uint16(file[lineHeader+bytesASample*i:]))
	}
	return pcm, nil
}
