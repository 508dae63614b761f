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
	of   string // the sessions it was made of, with how far they had come
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
	of := fmt.Sprintln(zone)
	for _, s := range sessions {
		of += fmt.Sprintln(s.Epoch, s.ID, s.Entries, s.Begun.UnixMilli(), s.Within, s.Outcome)
	}
	if log := d.logs.get(tag, of); log != nil {
		return log, nil
	}
	entries, err := d.entriesOf(ctx, sessions)
	if err != nil {
		return nil, err
	}
	log := review.Read(entries, zone).Of(tag)
	d.logs.put(tag, of, log)
	return log, nil
}

// entriesOf are the entries of sessions, everything else that stands between
// them in the log included, and what later epochs know of the ends of theirs.
func (d *Desk) entriesOf(ctx context.Context, sessions []store.Session) ([]coach.Entry, error) {
	var out []coach.Entry
	epochs, stations, begins := map[string]bool{}, map[int64]bool{}, map[string]bool{}
	for _, s := range sessions {
		for e, err := range d.store.Entries(ctx, store.EntryFilter{Station: s.Station, Session: s.ID}) {
			if err != nil {
				return nil, err
			}
			entry, err := dated(e)
			if err != nil {
				return nil, err
			}
			begins[entry.Epoch] = begins[entry.Epoch] || entry.Kind == coach.EntryStart
			out = append(out, entry)
		}
		epochs[s.Epoch], stations[s.Station] = true, true
	}
	var later []coach.Entry // in front, since an epoch's first entry comes first
	for id := range stations {
		all, err := d.store.Epochs(ctx, id)
		if err != nil {
			return nil, err
		}
		for _, e := range all {
			if epochs[e.Previous.PreviousEpoch] && !begins[e.Epoch] {
				later = append(later, coach.Entry{Epoch: e.Epoch, Seq: 1, Boot: e.Boot, Kind: coach.EntryStart, Data: &e.Previous})
			}
		}
	}
	return append(later, out...), nil
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
