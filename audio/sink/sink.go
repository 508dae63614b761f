// Package sink is where sound leaves the program: a [Sink] takes blocks of
// mono 16-bit samples at [Rate] and gets them heard by a sound card (ALSA), a
// sound server (PulseAudio), a WAV file, or nobody at all.
//
// It knows samples and devices; it may not know what they sound like or why
// they are played, and imports nothing of ours. Invariants every sink keeps:
//
//   - Nothing waits for ever: a device that takes no sound for [Patience] is
//     gone, and so is one that says so.
//   - Every sample written is heard once, in order, or was counted by Drop.
//   - Little is under way: about [Buffer] samples, so that a stop is silent
//     fast even where a device can't discard.
//   - A device that ran dry plays silence, counts it, and goes on.
package sink

import (
	"errors"
	"time"
)

// Rate is the sample rate of every sink, in samples a second.
const Rate = 48000

// Buffer is how many samples a sink keeps under way: 80 ms, enough for a
// small computer to be late in and little enough to be silent soon.
const Buffer = Rate * 80 / 1000

// Patience is how long a device may take no sound before it counts as gone.
// It is many times the length of Buffer, and under a second.
const Patience = 800 * time.Millisecond

// ErrGone says that the device has vanished or stands still. Only closing
// the sink is of use afterwards.
var ErrGone = errors.New("the sound device has gone")

var errClosed = errors.New("the sink is closed")

// Sink is where sound goes. One goroutine owns it: no two of its methods may
// run at once, and none but Close may be called after Close.
type Sink interface {
	// Write takes the whole block, waiting while the device's buffer is full,
	// and keeps no hold of it. A block may have any length; one of ten
	// milliseconds or less keeps the caller quick to stop. An empty block does
	// nothing. Write returns nil when all of the block was taken. Otherwise
	// how much was taken is not known, and the error wraps ErrGone, within a
	// second, when the device has vanished or stands still; any other error
	// (a full disk, a closed sink) is as final.
	Write(block []int16) error

	// Delay is how many samples from now the last one written will be heard:
	// never negative, and about Buffer at most once the device is playing.
	// Before that it may be more than was written, by the device's own lag,
	// and it may rise without a Write as the device learns of that. The error
	// is as for Write.
	Delay() (int, error)

	// Drop silences the device at once and discards what it has not played.
	// It returns how many samples those were: they count as never written.
	// With nothing to discard it returns 0. What a device can't take back (in
	// its own wires) is not counted and still shows in Delay. Write may follow
	// and is heard without what was dropped. The error is as for Write.
	Drop() (int, error)

	// Close plays what is left, for at most about a second, and lets the
	// device go. It returns the first thing that kept the sound from being
	// played or the file from appearing, nil where all was well. Closing again
	// does nothing and returns nil.
	Close() error
}

// Underruns counts how often s ran dry while it should have been playing: 0
// for sinks that can't run dry.
func Underruns(s Sink) int {
	if u, ok := s.(interface{ Underruns() int }); ok {
		return u.Underruns()
	}
	return 0
}
