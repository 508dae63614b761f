package sink

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"

	"github.com/google/renameio/v2"
)

// headerBytes is the length of a WAV header with nothing but a PCM format.
const headerBytes = 44

// maxWAV is how many samples fit into a WAV file, whose lengths are 32 bits:
// a little over twelve hours.
const maxWAV = (math.MaxUint32 - headerBytes) / 2

// WAV writes samples to a file as mono 16-bit PCM at Rate. The file appears
// whole when Close succeeds; until then, and if the program dies, whatever
// stood at the path before stands there still.
type WAV struct {
	path    string
	file    *renameio.PendingFile // nil once closed
	buf     *bufio.Writer
	samples int64
	bytes   []byte // a block on its way, kept to be used again
}

// NewWAV begins a file that is to appear at path. It refuses a path at which
// something other than a file stands (a folder, /dev/null).
func NewWAV(path string) (*WAV, error) {
	if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
		return nil, fmt.Errorf("writing %s: not a file that a WAV could replace; name a new or an existing file", path)
	}
	file, err := renameio.NewPendingFile(path,
		renameio.WithTempDir(filepath.Dir(path)), renameio.WithPermissions(0o644))
	if err != nil {
		return nil, fmt.Errorf("writing %s: %w", path, err)
	}
	w := &WAV{path: path, file: file, buf: bufio.NewWriterSize(file, 1<<16)}
	if _, err := w.buf.Write(make([]byte, headerBytes)); err != nil {
		return nil, errors.Join(w.fault(err), w.Discard())
	}
	return w, nil
}

// Write appends samples.
func (w *WAV) Write(block []int16) error {
	if w.file == nil {
		return w.fault(errClosed)
	}
	if w.samples+int64(len(block)) > maxWAV {
		return w.fault(errors.New("a WAV file holds at most twelve hours"))
	}
	w.bytes = pcm(w.bytes[:0], block)
	if _, err := w.buf.Write(w.bytes); err != nil {
		return w.fault(err)
	}
	w.samples += int64(len(block))
	return nil
}

// Samples is how many samples the file will have.
func (w *WAV) Samples() int64 { return w.samples }

// Cut takes the last n samples off again.
func (w *WAV) Cut(n int) error {
	if w.file == nil {
		return w.fault(errClosed)
	}
	if n < 0 || int64(n) > w.samples {
		return w.fault(fmt.Errorf("%d samples can't be cut off %d", n, w.samples))
	}
	if err := w.buf.Flush(); err != nil {
		return w.fault(err)
	}
	w.samples -= int64(n)
	end := headerBytes + 2*w.samples
	if err := w.file.Truncate(end); err != nil {
		return w.fault(err)
	}
	if _, err := w.file.Seek(end, io.SeekStart); err != nil {
		return w.fault(err)
	}
	return nil
}

// Close makes the file appear. After an error it does not. Closing again does
// nothing.
func (w *WAV) Close() error {
	if w.file == nil {
		return nil
	}
	file := w.file
	err := w.buf.Flush()
	if err == nil {
		_, err = file.WriteAt(header(w.samples), 0)
	}
	if err == nil {
		err = file.CloseAtomicallyReplace()
	}
	w.file = nil
	if err != nil {
		return errors.Join(w.fault(err), file.Cleanup())
	}
	return nil
}

// Discard gives the file up: nothing appears.
func (w *WAV) Discard() error {
	if w.file == nil {
		return nil
	}
	file := w.file
	w.file = nil
	if err := file.Cleanup(); err != nil {
		return w.fault(err)
	}
	return nil
}

func (w *WAV) fault(err error) error { return fmt.Errorf("writing %s: %w", w.path, err) }

// pcm appends samples to b as little-endian 16-bit PCM.
func pcm(b []byte, block []int16) []byte {
	for _, s := range block {
		b = binary.LittleEndian.AppendUint16(b, uint16(s))
	}
	return b
}

// header is the WAV header of so many samples: RIFF, a PCM format chunk (mono,
// Rate, 16 bits) and the beginning of the data chunk.
func header(samples int64) []byte {
	le := binary.LittleEndian
	data := uint32(2 * samples)
	b := append(make([]byte, 0, headerBytes), "RIFF"...)
	b = le.AppendUint32(b, headerBytes-8+data)
	b = append(b, "WAVEfmt "...)
	b = le.AppendUint32(b, 16)     // length of the format chunk
	b = le.AppendUint16(b, 1)      // PCM
	b = le.AppendUint16(b, 1)      // channels
	b = le.AppendUint32(b, Rate)   // samples a second
	b = le.AppendUint32(b, 2*Rate) // bytes a second
	b = le.AppendUint16(b, 2)      // bytes a sample
	b = le.AppendUint16(b, 16)     // bits a sample
	b = append(b, "data"...)
	return le.AppendUint32(b, data)
}
