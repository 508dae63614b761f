package sink

import "errors"

// Recorder is a device that nobody hears and that keeps what would have been
// heard: the silent clock with a WAV file behind it. Drop takes off the file
// exactly what the clock had not played. It writes to disk on the caller's
// goroutine, which is right for a recording and wrong for a patient's sound.
type Recorder struct {
	clock *Silent
	file  *WAV
}

// NewRecorder records to a WAV file at path, at speed times real time (0: as
// fast as samples come).
func NewRecorder(path string, speed float64) (*Recorder, error) {
	file, err := NewWAV(path)
	if err != nil {
		return nil, err
	}
	return &Recorder{clock: NewSilent(speed), file: file}, nil
}

// Write records the block and waits for the clock.
func (r *Recorder) Write(block []int16) error {
	if err := r.file.Write(block); err != nil {
		return err
	}
	return r.clock.Write(block)
}

// Delay is how many samples the clock has yet to play.
func (r *Recorder) Delay() (int, error) { return r.clock.Delay() }

// Drop takes what the clock has yet to play off the file.
func (r *Recorder) Drop() (int, error) {
	n, err := r.clock.Drop()
	if err != nil {
		return 0, err
	}
	return n, r.file.Cut(n)
}

// Close makes the file appear.
func (r *Recorder) Close() error { return errors.Join(r.clock.Close(), r.file.Close()) }
