package desk

import (
	"context"
	"sync"

	"evenbell/coach/desk/store"
)

// intake puts what several stations send at the same time into one
// transaction: three hundred stations that log a few entries a second would
// otherwise need as many fsyncs, and a stop would wait for them.
type intake struct {
	d       *Desk
	mu      sync.Mutex
	waiting []*delivery
	taking  bool // somebody is putting deliveries into the store
}

// delivery is one batch on its way in.
type delivery struct {
	size int // of the batch, in entries
	into func(context.Context) (store.Appended, error)
	got  store.Appended
	err  error
	done chan struct{}
}

// mostTogether is how many entries go into one transaction where they are of
// several stations: a stop waits for no more than these.
const mostTogether = 500

// take stores a batch, with whatever else is waiting, and gives what it did
// once it is on the disk. Whoever finds nobody at work does the work for all.
func (in *intake) take(ctx context.Context, size int, into func(context.Context) (store.Appended, error)) (store.Appended, error) {
	v := &delivery{size: size, into: into, done: make(chan struct{})}
	in.mu.Lock()
	in.waiting = append(in.waiting, v)
	works := !in.taking
	in.taking = true
	in.mu.Unlock()
	if works {
		// What others brought must not end with this station's connection.
		go in.work(context.WithoutCancel(ctx))
	}
	select {
	case <-v.done:
		return v.got, v.err
	case <-ctx.Done():
		return store.Appended{}, ctx.Err() // it may yet be stored, and the station asks again
	}
}

// work empties the queue and ends.
func (in *intake) work(ctx context.Context) {
	for {
		in.mu.Lock()
		n := in.some()
		some := in.waiting[:n:n]
		in.waiting = in.waiting[n:]
		in.taking = n > 0
		in.mu.Unlock()
		if n == 0 {
			return
		}
		in.store(ctx, some)
		for _, v := range some {
			close(v.done)
		}
	}
}

// some is how many of those waiting go in together.
func (in *intake) some() int {
	n, size := 0, 0
	for n < len(in.waiting) {
		if size += in.waiting[n].size; n > 0 && size > mostTogether {
			break
		}
		n++
	}
	return n
}

// store stores several batches as one; where that fails, each by itself, so
// that one station's trouble is not another's.
func (in *intake) store(ctx context.Context, some []*delivery) {
	var n news
	err := in.d.store.Together(ctx, func(ctx context.Context) error {
		for _, v := range some {
			if v.got, v.err = in.d.takeOne(ctx, v.into, &n); v.err != nil {
				return v.err
			}
		}
		return nil
	})
	if err == nil {
		in.d.tell(n)
		return
	}
	if len(some) == 1 {
		some[0].err = err
		return
	}
	for _, v := range some {
		in.store(ctx, []*delivery{v})
	}
}
