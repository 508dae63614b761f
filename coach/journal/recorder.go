package journal

import (
	"sync"

	"evenbell/coach"
)

// Appender is what a Recorder writes to: a [Journal], or a fake.
type Appender interface {
	Append(...coach.Entry) (Position, error) // durable when it returns
	Mono() int64                             // now, in nanoseconds since the boot; must not wait
}

const largestCommit = 256 // entries: what has queued up behind a stalled disk goes in pieces

// Recorder stands between the audio goroutine and the disk. Record only
// queues; a goroutine of the recorder's own appends what has gathered, one
// commit for all of it, and says so.
type Recorder struct {
	log    Appender
	logged func(Position)
	failed func(error)
	wake   chan struct{} // holds one
	done   chan struct{}

	mu      sync.Mutex // held for a copy at most, never across the disk
	queue   []coach.Entry
	pending int   // taken from the queue, not yet durable
	oldest  int64 // mono of the oldest of both, 0 for none
	err     error
	closed  bool
}

// NewRecorder starts a recorder. logged is called after each durable commit
// with the position of its last entry; failed once, with the first error,
// after which everything is dropped. Both are called in the recorder's
// goroutine and either may be nil. Close ends it.
func NewRecorder(log Appender, logged func(Position), failed func(error)) *Recorder {
	r := &Recorder{log: log, logged: logged, failed: failed,
		wake: make(chan struct{}, 1), done: make(chan struct{})}
	go r.run()
	return r
}

// Record queues entries, dated now where they are not dated, and returns
// without waiting for anything. The queue has no bound: a session must not
// be cut short by a slow disk, and it is small; see Waiting.
func (r *Recorder) Record(entries ...coach.Entry) {
	now := r.log.Mono()
	r.mu.Lock()
	if r.closed || r.err != nil || len(entries) == 0 {
		r.mu.Unlock()
		return
	}
	for _, e := range entries {
		if e.MonoNS == 0 {
			e.MonoNS = now
		}
		r.queue = append(r.queue, e)
	}
	if r.oldest == 0 {
		r.oldest = now
	}
	r.mu.Unlock()
	r.signal()
}

// Waiting is how many recorded entries are not yet durable and for how many
// nanoseconds the oldest of them has waited: the measure of a disk that stalls.
func (r *Recorder) Waiting() (entries int, ns int64) {
	now := r.log.Mono()
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.oldest == 0 {
		return 0, 0
	}
	return len(r.queue) + r.pending, now - r.oldest
}

// Close appends what is queued, ends the recorder and waits for it. It
// returns the error the recorder failed with, if it has.
func (r *Recorder) Close() error {
	r.mu.Lock()
	r.closed = true
	r.mu.Unlock()
	r.signal()
	<-r.done
	return r.err
}

func (r *Recorder) signal() {
	select {
	case r.wake <- struct{}{}:
	default: // it will look anyway
	}
}

func (r *Recorder) run() {
	defer close(r.done)
	for range r.wake {
		for {
			batch, closed := r.take()
			if len(batch) == 0 {
				if closed {
					return
				}
				break
			}
			if !r.append(batch) {
				return
			}
		}
	}
}

// take moves a commit's worth from the queue to pending.
func (r *Recorder) take() (batch []coach.Entry, closed bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	n := min(len(r.queue), largestCommit)
	batch = r.queue[:n:n]
	r.queue, r.pending = r.queue[n:], n
	return batch, r.closed
}

func (r *Recorder) append(batch []coach.Entry) bool {
	at, err := r.log.Append(batch...)
	r.mu.Lock()
	r.pending, r.oldest = 0, 0
	if len(r.queue) > 0 {
		r.oldest = r.queue[0].MonoNS
	}
	if err != nil {
		r.err, r.queue = err, nil
	}
	r.mu.Unlock()
	switch {
	case err != nil && r.failed != nil:
		r.failed(err)
	case err == nil && r.logged != nil:
		r.logged(at)
	}
	return err == nil
}

var _ Appender = (*Journal)(nil)
