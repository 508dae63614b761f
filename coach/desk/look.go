package desk

import (
	"context"
	"sync"
	"time"
)

// looks remembers who looked at what last. A page that stands open asks again
// whenever something changes, and that is one look.
type looks struct {
	mu   sync.Mutex
	last map[look]time.Time
}

type look struct {
	by              Actor
	action          Action
	subject, detail string
}

// oneLook is how long after a look the same look is still the same.
const oneLook = 5 * time.Minute

// mostLooks is how many are remembered; with more, all are forgotten, and the
// audit trail has some a second time.
const mostLooks = 10_000

func newLooks() *looks { return &looks{last: map[look]time.Time{}} }

// goesOn reports whether a look is one that goes on.
func (l *looks) goesOn(v look, now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	at, known := l.last[v]
	if len(l.last) >= mostLooks {
		clear(l.last)
	}
	l.last[v] = now
	return known && now.Sub(at) < oneLook
}

func (l *looks) forget(v look) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.last, v)
}

// looked writes a look at patients into the audit trail, once for as long as it
// goes on.
func (d *Desk) looked(ctx context.Context, who Actor, action Action, subject, detail string) error {
	v := look{who, action, subject, detail}
	if d.looks.goesOn(v, d.Time()) {
		return nil
	}
	err := d.audit(ctx, who, action, subject, detail)
	if err != nil {
		d.looks.forget(v)
	}
	return err
}
