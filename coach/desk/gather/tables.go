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
	r, err := f.reader(ctx)
	if err != nil {
		return nil, err
	}
	visits, err := f.visits(ctx, c.Tag, from, to)
	if err != nil {
		return nil, err
	}
	return func(yield func(record.Session, error) bool) {
		for _, s := range all {
			got, err := r.read(ctx, s)
			got.Visit = visits[s.ID]
			if !yield(got, err) || err != nil {
				return
			}
		}
	}, nil
}

// visits name the visit of each session of some days. A visit may have begun, or
// go on, on the day beside.
func (f From) visits(ctx context.Context, tag string, from, to time.Time) (map[string]string, error) {
	beside := store.SessionFilter{Tag: tag}
	if !from.IsZero() {
		beside.Since = from.AddDate(0, 0, -1)
	}
	if !to.IsZero() {
		beside.Until = to.AddDate(0, 0, 1)
	}
	all, err := f.store().Sessions(ctx, beside)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, v := range desk.Join(all) {
		for _, s := range v.Stays {
			out[s.ID] = v.ID()
		}
	}
	return out, nil
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

// reader reads sessions one after the other. It remembers what they have in
// common.
type reader struct {
	From
	zone   *time.Location
	names  map[int64]string
	starts map[int64][]store.Epoch // of each station
}

func (f From) reader(ctx context.Context) (*reader, error) {
	zone, err := f.Desk.Zone(ctx)
	if err != nil {
		return nil, err
	}
	names, err := f.stationNames(ctx)
	if err != nil {
		return nil, err
	}
	return &reader{f, zone, names, map[int64][]store.Epoch{}}, nil
}

// entriesOf are a session's entries, what stands between them included, and
// what a later start of the same station knows of the end of that log.
func (r *reader) entriesOf(ctx context.Context, s store.Session) ([]record.Entry, error) {
	var out []record.Entry
	take := func(filter store.EntryFilter, want func(store.Entry) bool) error {
		for e, err := range r.store().Entries(ctx, filter) {
			if err != nil {
				return fmt.Errorf("reading the log of session %s: %w", s.ID, err)
			}
			if want(e) {
				out = append(out, record.Entry{Entry: e, StationName: r.names[e.Station]})
			}
		}
		return nil
	}
	if err := take(store.EntryFilter{Station: s.Station, Session: s.ID}, func(store.Entry) bool { return true }); err != nil {
		return nil, err
	}
	if _, known := r.starts[s.Station]; !known {
		all, err := r.store().Epochs(ctx, s.Station)
		if err != nil {
			return nil, fmt.Errorf("reading the log of session %s: %w", s.ID, err)
		}
		r.starts[s.Station] = all
	}
	for _, e := range r.starts[s.Station] {
		if e.Previous.PreviousEpoch != s.Epoch {
			continue
		}
		first := store.EntryFilter{Station: s.Station, Epoch: e.Epoch, Limit: 1}
		if err := take(first, func(e store.Entry) bool { return e.Kind == coach.EntryStart }); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// read is one session, read from its entries.
func (r *reader) read(ctx context.Context, s store.Session) (record.Session, error) {
	entries, err := r.entriesOf(ctx, s)
	if err != nil {
		return record.Session{}, err
	}
	all, _, err := record.Read(entries, r.zone)
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
