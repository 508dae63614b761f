package voice

import "sync"

// queue is the clips waiting to be decoded, each at most once in either line:
// those that are urgent before all others, else first come first served.
type queue struct {
	mu     sync.Mutex
	change *sync.Cond
	urgent line
	usual  line
	closed bool
	busy   bool // the one taken last is being decoded
}

// line is clips that wait, and for each whether it does.
type line struct {
	waiting []int
	queued  []bool
}

func newQueue(clips int) *queue {
	q := &queue{urgent: line{queued: make([]bool, clips)}, usual: line{queued: make([]bool, clips)}}
	q.change = sync.NewCond(&q.mu)
	return q
}

func (q *queue) add(i int, urgent bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	l := &q.usual
	if urgent {
		l = &q.urgent
	}
	if q.closed || l.queued[i] {
		return
	}
	l.queued[i] = true
	l.waiting = append(l.waiting, i)
	q.change.Signal()
}

// next waits for a clip to decode; false when the queue was closed.
func (q *queue) next() (int, bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	for q.busy = false; q.empty() && !q.closed; {
		q.change.Wait()
	}
	if q.closed {
		return 0, false
	}
	q.busy = true
	if len(q.urgent.waiting) > 0 {
		return q.urgent.take(), true
	}
	return q.usual.take(), true
}

func (l *line) take() int {
	i := l.waiting[0]
	l.waiting = l.waiting[1:]
	l.queued[i] = false
	return i
}

func (q *queue) empty() bool { return len(q.urgent.waiting)+len(q.usual.waiting) == 0 }

func (q *queue) idle() bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.empty() && !q.busy
}

func (q *queue) close() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.closed = true
	q.change.Broadcast()
}
