package voice

import "sync"

// queue is the clips waiting to be decoded, first come first served, each at
// most once.
type queue struct {
	mu      sync.Mutex
	change  *sync.Cond
	waiting []int
	queued  []bool
	closed  bool
}

func newQueue(clips int) *queue {
	q := &queue{queued: make([]bool, clips)}
	q.change = sync.NewCond(&q.mu)
	return q
}

func (q *queue) add(i int) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.closed || q.queued[i] {
		return
	}
	q.queued[i] = true
	q.waiting = append(q.waiting, i)
	q.change.Signal()
}

// next waits for a clip to decode; false when the queue was closed.
func (q *queue) next() (int, bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	for len(q.waiting) == 0 && !q.closed {
		q.change.Wait()
	}
	if q.closed {
		return 0, false
	}
	i := q.waiting[0]
	q.waiting = q.waiting[1:]
	q.queued[i] = false
	return i, true
}

func (q *queue) close() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.closed = true
	q.change.Broadcast()
}
