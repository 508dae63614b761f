package player

import (
	"sync"

	"evenbell/coach"
)

// Note is something about the sound that is not of the session.
type Note struct {
	Sink      string // opened, in words
	Lost      string // gone, and why
	Underruns int    // so far on this sink
}

// Event is what a live session gives to the rest of the program. Exactly one
// goroutine reads it.
type Event struct {
	Note    Note
	Heard                 // cues and entries that have been heard
	To      coach.Samples // everything before it has been heard
	PCM     []int16       // the samples heard since the last event, where recorded
	Waiting string        // what the session waits for, as rendered
	Look    bool          // the stop lamp is lit
}

// Feed carries events from the audio goroutine to one reader. Adding never
// waits for the reader.
type Feed struct {
	mu     sync.Mutex // guards events and closed; held for an append or a swap
	events []Event
	closed bool
	more   chan struct{} // one token while there is something to read
}

// NewFeed makes an empty feed.
func NewFeed() *Feed { return &Feed{more: make(chan struct{}, 1)} }

func (f *Feed) add(e Event) {
	f.mu.Lock()
	f.events = append(f.events, e)
	f.mu.Unlock()
	f.wake()
}

func (f *Feed) wake() {
	select {
	case f.more <- struct{}{}:
	default:
	}
}

func (f *Feed) note(n Note) { f.add(Event{Note: n}) }

func (f *Feed) heard(to coach.Samples, h Heard, pcm []int16, waiting string, look bool) {
	f.add(Event{Heard: h, To: to, PCM: pcm, Waiting: waiting, Look: look})
}

func (f *Feed) close() {
	f.mu.Lock()
	f.closed = true
	f.mu.Unlock()
	f.wake()
}

// More has a token whenever Next may have something to give.
func (f *Feed) More() <-chan struct{} { return f.more }

// Next gives all events since the last call, and false once the feed has
// ended and nothing is left.
func (f *Feed) Next() ([]Event, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	es := f.events
	f.events = nil
	return es, !f.closed
}
