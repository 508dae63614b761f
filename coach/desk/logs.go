package desk

import (
	"context"
	"fmt"
	"sync"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// logs keeps the reviews made last: pages ask for the same one again and again,
// and it changes only with the log.
type logs struct {
	mu   sync.Mutex
	last map[string]keptLog
	turn int64
}

// keptLog is a review of what the log had.
type keptLog struct {
	of   string // the sessions it was made of, with how far they had come, and what is known of their ends
	log  *review.Log
	used int64
}

// mostLogs is how many reviews are kept.
const mostLogs = 64

func newLogs() *logs { return &logs{last: map[string]keptLog{}} }

func (l *logs) get(tag, of string) *review.Log {
	l.mu.Lock()
	defer l.mu.Unlock()
	k, ok := l.last[tag]
	if !ok || k.of != of {
		return nil
	}
	l.turn++
	k.used = l.turn
	l.last[tag] = k
	return k.log
}

func (l *logs) put(tag, of string, log *review.Log) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.turn++
	l.last[tag] = keptLog{of, log, l.turn}
	for len(l.last) > mostLogs {
		oldest := ""
		for t, k := range l.last {
			if oldest == "" || k.used < l.last[oldest].used {
				oldest = t
			}
		}
		delete(l.last, oldest)
	}
}

// logOf reviews everything a patient did. Treat it as read-only.
func (d *Desk) logOf(ctx context.Context, tag string) (*review.Log, error) {
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	sessions, err := d.store.Sessions(ctx, store.SessionFilter{Tag: tag})
	if err != nil {
		return nil, err
	}
	ends, err := d.store.EndsKnown(ctx, tag)
	if err != nil {
		return nil, err
	}
	of := fmt.Sprintln(zone, ends)
	for _, s := range sessions {
		of += fmt.Sprintln(s.Key(), s.Entries, s.Undated)
	}
	if log := d.logs.get(tag, of); log != nil {
		return log, nil
	}
	digests, err := d.digests(ctx, tag, sessions)
	if err != nil {
		return nil, err
	}
	log := review.LogOf(zone, append(digests, review.Digest{Ends: ends})...).Of(tag)
	d.logs.put(tag, of, log)
	return log, nil
}

// datedWithin is how far off a derived time may be to date a session by.
const datedWithin = time.Hour

// dated reads an entry. Where the station trusted no clock, the time that was
// derived at a contact stands in its place, if it is good enough.
func dated(e store.Entry) (coach.Entry, error) {
	entry, err := e.Entry()
	if err != nil {
		return entry, fmt.Errorf("reading entry %s %d: %w", e.Epoch, e.Seq, err)
	}
	if entry.Wall == nil && !e.At.IsZero() && e.Within <= datedWithin {
		at := e.At
		entry.Wall, entry.Within = &at, e.Within
	}
	return entry, nil
}
