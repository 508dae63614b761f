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

	mu    sync.Mutex
	stuck []Control
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

// FakeLamps are lamps that a program looks at. They are safe for use by
// several goroutines; the zero value is ready.
type FakeLamps struct {
	mu  sync.Mutex
	lit map[Lamp]bool
}

// Set lights or darkens a lamp.
func (f *FakeLamps) Set(l Lamp, on bool) error {
	if err := l.check(); err != nil {
		return err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.lit == nil {
		f.lit = map[Lamp]bool{}
	}
	f.lit[l] = on
	return nil
}

// Close darkens them.
func (f *FakeLamps) Close() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	clear(f.lit)
	return nil
}

// Lit reports whether a lamp is on.
func (f *FakeLamps) Lit(l Lamp) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.lit[l]
}
