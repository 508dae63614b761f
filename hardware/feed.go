package hardware

import (
	"context"
	"errors"
	"sync"
)

// Watch is a goroutine of a box: it sends presses until it is told to end by
// its context, when it returns nil soon, or has to end by itself, when it
// returns why. send waits for room, and returns at once when the context ends.
type Watch func(ctx context.Context, send func(Press)) error

// room is how many presses wait for a slow receiver before those who watch
// for more must wait too.
const room = 16

// Feed is a [Box] made of the goroutines that watch its parts: what every kind
// of box has in common.
type Feed struct {
	presses chan Press
	ctx     context.Context // ends with the box; its cause is why
	cancel  context.CancelCauseFunc
	done    chan struct{} // closed when all goroutines have ended
}

// errClosed is the cause of a box that was closed.
var errClosed = errors.New("closed")

// NewFeed starts a goroutine for each watch. When one ends by itself, all do.
func NewFeed(watches ...Watch) *Feed {
	f := &Feed{presses: make(chan Press, room), done: make(chan struct{})}
	f.ctx, f.cancel = context.WithCancelCause(context.Background())
	var running sync.WaitGroup
	for _, w := range watches {
		running.Go(func() {
			if err := w(f.ctx, f.send); err != nil {
				f.cancel(err)
			}
		})
	}
	go func() {
		running.Wait()
		close(f.done)
		close(f.presses)
	}()
	return f
}

func (f *Feed) send(p Press) {
	select {
	case f.presses <- p:
	case <-f.ctx.Done():
	}
}

// Presses is where presses arrive.
func (f *Feed) Presses() <-chan Press { return f.presses }

// Err says why the box has ended.
func (f *Feed) Err() error {
	select {
	case <-f.done:
	default:
		return nil
	}
	if err := context.Cause(f.ctx); !errors.Is(err, errClosed) {
		return err
	}
	return nil
}

// Close ends the goroutines and drops what nobody has received.
func (f *Feed) Close() error {
	f.cancel(errClosed)
	<-f.done
	for range f.presses {
	}
	return nil
}
