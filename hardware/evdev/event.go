package evdev

import (
	"encoding/binary"
	"math/bits"
	"time"
)

// The event types, codes and values that matter here, from the kernel's uapi
// header linux/input-event-codes.h.
const (
	evSyn      = 0
	evKey      = 1
	synReport  = 0
	synDropped = 3
	keyMax     = 0x2ff

	released = 0
	pressed  = 1 // 2 is a key repeating itself
)

// word is the size of the kernel's long integers here, of which an event has
// two for its time.
const word = bits.UintSize / 8

// event is one struct input_event.
type event struct {
	at    time.Duration
	kind  uint16
	code  uint16
	value int32
}

// size is the size of an event on a machine with words of so many bytes.
func size(word int) int { return 2*word + 8 }

// decode reads the whole events of b as such a machine writes them.
func decode(b []byte, word int) []event {
	var events []event
	for ; len(b) >= size(word); b = b[size(word):] {
		sec, usec, rest := long(b, word), long(b[word:], word), b[2*word:]
		events = append(events, event{
			at:    time.Duration(sec)*time.Second + time.Duration(usec)*time.Microsecond,
			kind:  binary.NativeEndian.Uint16(rest),
			code:  binary.NativeEndian.Uint16(rest[2:]),
			value: int32(binary.NativeEndian.Uint32(rest[4:])),
		})
	}
	return events
}

func long(b []byte, word int) int64 {
	if word == 4 {
		return int64(binary.NativeEndian.Uint32(b))
	}
	return int64(binary.NativeEndian.Uint64(b))
}
