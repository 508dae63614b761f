package store

import (
	"context"
	"database/sql"
	"fmt"
	"iter"
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// EntryFilter chooses entries; a zero field chooses all.
type EntryFilter struct {
	Tag          string
	Session      string // and what of no session stands between its entries
	Station      int64
	Epoch        string
	Kinds        []coach.EntryKind // only these
	Without      []coach.EntryKind // all but these
	Since, Until time.Time         // of At, or of Received where nobody can tell: from, and before
	After        int64             // of the numbers in Epoch
	Limit        int
}

const entrySelect = `SELECT p.station, p.epoch, n.seq, n.line, n.hash, n.session, n.tag, n.kind, n.at, n.within_ms, n.dated, n.received, n.carried
	FROM entry n JOIN epoch p ON p.id = n.epoch`

func scanEntry(r row) (e Entry, err error) {
	var how dating
	var line string
	err = r.Scan(&e.Station, &e.Epoch, &e.Seq, &line, aHash(&e.Hash), &e.Session, &e.Tag, &e.Kind, aTime(&e.At), aSpan(&e.Within), &how, aTime(&e.Received), aFlag(&e.Carried))
	if e.Line = []byte(line); how == notDated {
		e.At = time.Time{}
	}
	return e, err
}

// query is the statement for a filter. It asks in the way that reads least: a
// session by its stretch of one epoch, a patient by the tag.
func (f EntryFilter) query() (string, []any) {
	var w where
	from, order := entrySelect, "n.at, n.epoch, n.seq"
	if f.Session != "" {
		from += " JOIN session v ON v.epoch = n.epoch AND n.seq BETWEEN v.first_seq AND v.last_seq AND n.session IN (v.session, '')"
		w.equal("v.session", f.Session)
		order = "n.epoch, n.seq"
	}
	if f.Epoch != "" {
		order = "n.epoch, n.seq"
		w.equal("p.epoch", f.Epoch)
	}
	if f.After > 0 {
		w.and("n.seq > $", f.After)
	}
	w.equal("n.tag", f.Tag)
	if f.Tag != "" {
		w.and("n.tag <> ''") // by which the index on tags can be used
	}
	w.of("p.station", f.Station)
	among(&w, "n.kind", "IN", f.Kinds)
	among(&w, "n.kind", "NOT IN", f.Without)
	w.between("n.at", f.Since, f.Until)
	if !f.Since.IsZero() && f.Tag == "" && f.Session == "" {
		// Nothing happened after it was received, but for clocks that differ.
		w.and("p.last_at >= $", millis(f.Since.Add(-48*time.Hour)))
	}
	w.and("n.line <> ''") // not those forgotten
	return from + w.clause() + " ORDER BY " + order + limited(f.Limit), w.args
}

// Entries gives entries in the order of time; those of one session or epoch in
// the order of the log. It sees the store as it is when the loop begins. An
// error comes last. A loop that takes long to go on holds a connection.
func (s *Store) Entries(ctx context.Context, f EntryFilter) iter.Seq2[Entry, error] {
	query, args := f.query()
	if s.underWay(ctx) != nil {
		return s.collected(ctx, query, args)
	}
	return func(yield func(Entry, error) bool) {
		rows, err := s.db.loop.QueryContext(ctx, query, args...)
		if err != nil {
			yield(Entry{}, fmt.Errorf("reading the entries: %w", err))
			return
		}
		defer rows.Close()
		if err := each(rows, yield); err != nil {
			yield(Entry{}, fmt.Errorf("reading the entries: %w", err))
		}
	}
}

// each yields rows until the loop ends; then it returns nil.
func each(rows *sql.Rows, yield func(Entry, error) bool) error {
	for rows.Next() {
		e, err := scanEntry(rows)
		if err != nil {
			return err
		}
		if !yield(e, nil) {
			return nil
		}
	}
	return rows.Err()
}

// collected reads all before the loop, since a change has one connection.
func (s *Store) collected(ctx context.Context, query string, args []any) iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		all, err := many(ctx, s.reading(ctx), scanEntry, "the entries", query, args...)
		for _, e := range all {
			if !yield(e, nil) {
				return
			}
		}
		if err != nil {
			yield(Entry{}, err)
		}
	}
}

// VerifyLog follows the chain of one epoch as it is kept. A
// *journal.CorruptError says where it first does not hold. Entries that were
// forgotten are passed over by the hash that was kept of them.
func (s *Store) VerifyLog(ctx context.Context, station int64, epoch string) (journal.Position, error) {
	e, err := s.Mark(ctx, station, epoch)
	if err != nil {
		return journal.Position{}, err
	}
	at, hash := journal.Position{Epoch: epoch}, journal.Hash{}
	rows, err := s.reading(ctx).QueryContext(ctx, entrySelect+" WHERE p.station = $1 AND p.epoch = $2 ORDER BY n.epoch, n.seq", station, epoch)
	if err != nil {
		return at, fmt.Errorf("reading the entries: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		r, err := scanEntry(rows)
		if err != nil {
			return at, fmt.Errorf("reading the entries: %w", err)
		}
		if r.Seq != at.Seq+1 {
			return at, &journal.CorruptError{Position: journal.Position{Epoch: epoch, Seq: at.Seq + 1}, Damage: journal.MissingEntry}
		}
		if len(r.Line) > 0 && hash.Next(r.Line) != r.Hash {
			return at, &journal.CorruptError{Position: r.Position, Damage: journal.BrokenChain}
		}
		at, hash = r.Position, r.Hash
	}
	if err := rows.Err(); err != nil {
		return at, fmt.Errorf("reading the entries: %w", err)
	}
	if at.Seq < e.Mark {
		return at, &journal.CorruptError{Position: journal.Position{Epoch: epoch, Seq: at.Seq + 1}, Damage: journal.LostTail}
	}
	return at, nil
}
