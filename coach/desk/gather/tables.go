package gather

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
)

func isMissing(err error) bool { return errors.Is(err, store.ErrNotFound) }

// Choice chooses what goes into a table; a zero field chooses all.
type Choice struct {
	Tag          string
	Since, Until coach.Day // both included
}

// Entries are log entries, for record.WriteEntries (ExportData).
func (f From) Entries(ctx context.Context, c Choice) (iter.Seq2[record.Entry, error], error) {
	if err := f.may(ctx, desk.ExportData, c.Tag, "entries"); err != nil {
		return nil, err
	}
	names, err := f.stationNames(ctx)
	if err != nil {
		return nil, err
	}
	from, to, err := f.span(ctx, c)
	if err != nil {
		return nil, err
	}
	return func(yield func(record.Entry, error) bool) {
		for e, err := range f.store().Entries(ctx, store.EntryFilter{Tag: c.Tag, Since: from, Until: to}) {
			if !yield(record.Entry{Entry: e, StationName: names[e.Station]}, err) || err != nil {
				return
			}
		}
	}, nil
}

// Sessions are sessions with their sets, for record.WriteSessions and
// record.WriteSets, one at a time however many there are (ExportData).
func (f From) Sessions(ctx context.Context, c Choice) (iter.Seq2[record.Session, error], error) {
	if err := f.may(ctx, desk.ExportData, c.Tag, "sessions"); err != nil {
		return nil, err
	}
	from, to, err := f.span(ctx, c)
	if err != nil {
		return nil, err
	}
	all, err := f.store().Sessions(ctx, store.SessionFilter{Tag: c.Tag, Since: from, Until: to})
	if err != nil {
		return nil, err
	}
	names, err := f.stationNames(ctx)
	if err != nil {
		return nil, err
	}
	return func(yield func(record.Session, error) bool) {
		for _, s := range all {
			got, err := f.read(ctx, s, names)
			if !yield(got, err) || err != nil {
				return
			}
		}
	}, nil
}

// span is the time of a choice's days.
func (f From) span(ctx context.Context, c Choice) (from, to time.Time, err error) {
	zone, err := f.Desk.Zone(ctx)
	if err != nil {
		return from, to, err
	}
	from = startOf(c.Since, zone)
	if c.Until != "" {
		to = endOf(c.Until, zone)
	}
	return from, to, nil
}

func (f From) stationNames(ctx context.Context) (map[int64]string, error) {
	all, err := f.store().Stations(ctx)
	if err != nil {
		return nil, fmt.Errorf("naming the stations: %w", err)
	}
	out := map[int64]string{}
	for _, s := range all {
		out[s.ID] = s.Name
	}
	return out, nil
}

// entriesOf are a session's entries, what stands between them included, and
// what a later start of the same station knows of the end of that log.
func (f From) entriesOf(ctx context.Context, s store.Session, names map[int64]string) ([]record.Entry, error) {
	var out []record.Entry
	for e, err := range f.store().Entries(ctx, store.EntryFilter{Station: s.Station, Session: s.ID}) {
		if err != nil {
			return nil, fmt.Errorf("reading the log of session %s: %w", s.ID, err)
		}
		out = append(out, record.Entry{Entry: e, StationName: names[e.Station]})
	}
	epochs, err := f.store().Epochs(ctx, s.Station)
	if err != nil {
		return nil, fmt.Errorf("reading the log of session %s: %w", s.ID, err)
	}
	for _, e := range epochs {
		if e.Previous.PreviousEpoch != s.Epoch {
			continue
		}
		for start, err := range f.store().Entries(ctx, store.EntryFilter{Station: s.Station, Epoch: e.Epoch, Limit: 1}) {
			if err != nil {
				return nil, fmt.Errorf("reading the log after session %s: %w", s.ID, err)
			}
			if start.Kind == coach.EntryStart {
				out = append(out, record.Entry{Entry: start, StationName: names[start.Station]})
			}
		}
	}
	return out, nil
}

// read is one session, read from its entries.
func (f From) read(ctx context.Context, s store.Session, names map[int64]string) (record.Session, error) {
	zone, err := f.Desk.Zone(ctx)
	if err != nil {
		return record.Session{}, err
	}
	entries, err := f.entriesOf(ctx, s, names)
	if err != nil {
		return record.Session{}, err
	}
	all, _, err := record.Read(entries, zone)
	if err != nil {
		return record.Session{}, fmt.Errorf("reading session %s: %w", s.ID, err)
	}
	for _, got := range all {
		if got.ID == s.ID {
			return got, nil
		}
	}
	return record.Session{}, fmt.Errorf("%w: session %s has nothing in the log that can be read", desk.ErrNotFound, s.ID)
}
