package hardware

import (
	"context"
	"slices"
	"sync"
	"time"
)

// Fake is a box that a program presses. It is safe for use by several
// goroutines.
type Fake struct {
	*Feed
	in  chan Press
	end chan error

	mu      sync.Mutex
	stuck   []Control
	missing []Control
}

// NewFake makes a box. It owns a goroutine until it is closed or ended.
func NewFake() *Fake {
	f := &Fake{in: make(chan Press), end: make(chan error)}
	f.Feed = NewFeed(f.relay)
	return f
}

func (f *Fake) relay(ctx context.Context, send func(Press)) error {
	for {
		select {
		case p := <-f.in:
			send(p)
		case err := <-f.end:
			return err
		case <-ctx.Done():
			return nil
		}
	}
}

// Press presses a control at a time on the clock of Now. It waits while the
// receiver is far behind, and does nothing on a box that has ended.
func (f *Fake) Press(c Control, at time.Duration) {
	select {
	case f.in <- Press{c, at}:
	case <-f.done:
	}
}

// End lets the box come to its end by itself: with io.EOF, ErrQuit or a fault.
func (f *Fake) End(why error) {
	select {
	case f.end <- why:
	case <-f.done:
	}
}

// Jam makes Stuck report these controls.
func (f *Fake) Jam(c ...Control) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.stuck = slices.Clone(c)
}

// Stuck is what Jam was told.
func (f *Fake) Stuck() []Control {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.stuck)
}

// Unplug makes Missing report these controls.
func (f *Fake) Unplug(c ...Control) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.missing = slices.Clone(c)
}

// Missing is what Unplug was told.
func (f *Fake) Missing() []Control {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.missing)
}

// FakeLamps are lamps that a program looks at, and can be dimmed. They are safe
// for use by several goroutines; the zero value is ready.
type FakeLamps struct {
	mu    sync.Mutex
	level map[Lamp]uint8
}

// Set makes a lamp as bright as that.
func (f *FakeLamps) Set(l Lamp, level uint8) error {
	if err := l.check(); err != nil {
		return err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.level == nil {
		f.level = map[Lamp]uint8{}
	}
	f.level[l] = level
	return nil
}

// Dims is true of every lamp there is.
func (f *FakeLamps) Dims(l Lamp) bool { return l.check() == nil }

// Close darkens them.
func (f *FakeLamps) Close() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	clear(f.level)
	return nil
}

// Level is how bright a lamp is.
func (f *FakeLamps) Level(l Lamp) uint8 {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.level[l]
}
