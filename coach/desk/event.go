package desk

import (
	"context"
	"sync"
	"time"

	"evenbell/coach/desk/store"
)

// EventKind says what changed.
type EventKind string

// The kinds of event.
const (
	AttentionEvent EventKind = "attention" // raised, or a step further
	StationEvent   EventKind = "station"   // its live state
	PlanEvent      EventKind = "plan"      // sent, delivered, taken, refused
	HoldEvent      EventKind = "hold"
	ChangeEvent    EventKind = "change" // anything else in the store: people, prescriptions, settings, classes
)

// Event says that something changed: look again. A reader that is slow misses
// none, but gets the newest of each kind and id only.
type Event struct {
	Kind    EventKind
	ID      int64  // of the attention, hold or plan; of the station for StationEvent
	Station string // its name, where it is about one
	Reason  store.Reason
	Loud    bool // somebody must come: the page sounds until it is acknowledged
	At      time.Time
}

// broadcast tells many readers of events. Nobody who tells waits for a reader.
type broadcast struct {
	mu      sync.Mutex
	readers map[*reader]struct{}
}

func newBroadcast() *broadcast { return &broadcast{readers: map[*reader]struct{}{}} }

// topic is what newer news of replaces older.
type topic struct {
	kind EventKind
	id   int64
}

// reader is what one reader has not taken yet.
type reader struct {
	mu      sync.Mutex
	order   []topic
	pending map[topic]Event
	some    chan struct{} // has a token while something is pending
}

func (b *broadcast) tell(e Event) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for r := range b.readers {
		r.put(e)
	}
}

func (r *reader) put(e Event) {
	r.mu.Lock()
	defer r.mu.Unlock()
	t := topic{e.Kind, e.ID}
	if _, waits := r.pending[t]; !waits {
		r.order = append(r.order, t)
	}
	r.pending[t] = e
	select {
	case r.some <- struct{}{}:
	default:
	}
}

// take gives what is pending: attentions first, whatever is waiting before
// them.
func (r *reader) take() []Event {
	r.mu.Lock()
	defer r.mu.Unlock()
	var first, rest []Event
	for _, t := range r.order {
		if e := r.pending[t]; e.Kind == AttentionEvent {
			first = append(first, e)
		} else {
			rest = append(rest, e)
		}
	}
	r.order, r.pending = nil, map[topic]Event{}
	return append(first, rest...)
}

// Watch tells of every change until ctx is done; then the channel is closed.
func (d *Desk) Watch(ctx context.Context) <-chan Event {
	r := &reader{pending: map[topic]Event{}, some: make(chan struct{}, 1)}
	out := make(chan Event)
	b := d.events
	b.mu.Lock()
	b.readers[r] = struct{}{}
	b.mu.Unlock()
	go func() {
		defer close(out)
		defer func() {
			b.mu.Lock()
			delete(b.readers, r)
			b.mu.Unlock()
		}()
		for {
			select {
			case <-r.some:
			case <-ctx.Done():
				return
			}
			for _, e := range r.take() {
				select {
				case out <- e:
				case <-ctx.Done():
					return
				}
			}
		}
	}()
	return out
}
