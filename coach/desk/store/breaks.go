package store

import (
	"context"
	"fmt"

	"evenbell/coach/journal"
)

// needs are the entries whose arrival mends a break.
type needs struct {
	epoch    string
	from, to int64
	hash     string // of the last of them; empty where it is not known
}

// brk is a break about to be kept.
type brk struct {
	Break
	needs needs
}

const breakColumns = "id, station, epoch, seq, what, line, at, mended"

func scanBreak(r row) (b Break, err error) {
	return b, r.Scan(&b.ID, &b.Station, &b.Epoch, &b.Seq, &b.What, &b.Line, aTime(&b.At), aStep(&b.Mended))
}

// Breaks gives what was found wrong with a station's log, or with any where
// station is 0, oldest first, mended or not.
func (s *Store) Breaks(ctx context.Context, station int64) ([]Break, error) {
	var w where
	w.of("station", station)
	return many(ctx, s.reading(ctx), scanBreak, "the breaks", "SELECT "+breakColumns+" FROM log_break"+w.clause()+" ORDER BY id", w.args...)
}

// broken keeps a break, unless the very same is kept already: a batch is sent
// again and again.
func (a *appending) broken(ctx context.Context, b brk) error {
	b.Station, b.At = a.batch.Station, a.batch.Received
	before, err := a.count(ctx, "SELECT count(*) FROM log_break WHERE station = $1 AND epoch = $2 AND seq = $3 AND what = $4 AND line = $5",
		b.Station, b.Epoch, b.Seq, b.What, b.Line)
	if err != nil || before > 0 {
		return err
	}
	b.ID = a.c.id()
	a.c.written += len(b.Line)
	_, err = a.c.exec(ctx, "INSERT INTO log_break ("+breakColumns+", needs_epoch, needs_from, needs_to, needs_hash) VALUES ($1, $2, $3, $4, $5, $6, $7, NULL, $8, $9, $10, $11)",
		b.ID, b.Station, b.Epoch, b.Seq, b.What, b.Line, millis(b.At), b.needs.epoch, b.needs.from, b.needs.to, b.needs.hash)
	a.done.Breaks = append(a.done.Breaks, b.Break)
	return err
}

// gone notes entries that the station no longer has, and puts the mark before
// the first that it has.
func (a *appending) gone(ctx context.Context, e *epochRow, first int64) error {
	what := fmt.Sprintf("entries %d to %d never came, and the station no longer has them", e.mark+1, first-1)
	err := a.broken(ctx, brk{Break{Position: journal.Position{Epoch: e.name, Seq: e.mark + 1}, What: what},
		needs{e.name, e.mark + 1, first - 1, ""}})
	if err != nil {
		return err
	}
	err = a.c.must(ctx, "the mark of an epoch", ErrChanged, "UPDATE epoch SET mark = $1 WHERE id = $2 AND mark = $3", first-1, e.id, e.mark)
	e.mark, e.hash = first-1, *a.batch.Gone
	return err
}

// keptEntry is what is here under a number.
type keptEntry struct {
	seq  int64
	line string
	hash journal.Hash
}

// is reports whether a record is the entry kept; of one that was forgotten
// only the hash can tell.
func (k keptEntry) is(r journal.Record) bool {
	if k.line == "" {
		return k.hash == r.Hash
	}
	return k.line == string(r.Line)
}

// again compares records whose numbers are here already. What lies in a gap is
// new after all; a line that differs from the one kept is kept in a break.
func (a *appending) again(ctx context.Context, e *epochRow, r span) error {
	first, last := a.batch.Records[r.from].Seq, a.batch.Records[r.to-1].Seq
	kept, err := many(ctx, a.c, func(r row) (k keptEntry, err error) { return k, r.Scan(&k.seq, &k.line, aHash(&k.hash)) }, "the entries kept",
		"SELECT seq, line, hash FROM entry WHERE epoch = $1 AND seq BETWEEN $2 AND $3 ORDER BY seq", e.id, first-1, last)
	if err != nil {
		return err
	}
	had := map[int64]keptEntry{0: {}}
	for _, k := range kept {
		had[k.seq] = k
	}
	for i := r.from; i < r.to; i++ {
		record := a.batch.Records[i]
		before, known := had[record.Seq-1]
		now, here := had[record.Seq]
		switch {
		case !here:
			had[record.Seq] = keptEntry{record.Seq, string(record.Line), record.Hash}
			err = a.fill(ctx, e, i, known && before.hash.Next(record.Line) != record.Hash)
		case !now.is(record):
			err = a.broken(ctx, brk{Break: Break{Position: record.Position, Line: string(record.Line),
				What: "another entry came with a number that is here already; the first stays, and this one is kept here"}})
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// fill stores an entry that was missing.
func (a *appending) fill(ctx context.Context, e *epochRow, i int, unchained bool) error {
	if unchained {
		err := a.broken(ctx, brk{Break: Break{Position: a.batch.Records[i].Position,
			What: "the chain does not hold here: this entry or one before it was changed"}})
		if err != nil {
			return err
		}
	}
	if _, err := a.c.exec(ctx, "UPDATE epoch SET moved = $1 WHERE id = $2", a.c.version, e.id); err != nil {
		return err
	}
	return a.insert(ctx, e, span{i, i + 1})
}

// mend closes the breaks that waited for entries of an epoch.
func (a *appending) mend(ctx context.Context, e *epochRow) error {
	type waiting struct {
		id int64
		needs
	}
	all, err := many(ctx, a.c, func(r row) (w waiting, err error) {
		return w, r.Scan(&w.id, &w.epoch, &w.from, &w.to, &w.hash)
	}, "the breaks", "SELECT id, needs_epoch, needs_from, needs_to, needs_hash FROM log_break WHERE mended IS NULL AND station = $1 AND needs_epoch = $2", a.batch.Station, e.name)
	if err != nil {
		return err
	}
	for _, w := range all {
		here, err := a.count(ctx, "SELECT count(*) FROM entry WHERE epoch = $1 AND seq BETWEEN $2 AND $3", e.id, w.from, w.to)
		if err != nil {
			return err
		}
		if here != w.to-w.from+1 {
			continue
		}
		fits := int64(1)
		if w.hash != "" {
			if fits, err = a.count(ctx, "SELECT count(*) FROM entry WHERE epoch = $1 AND seq = $2 AND hash = $3", e.id, w.to, w.hash); err != nil {
				return err
			}
		}
		if fits == 0 {
			continue
		}
		if _, err := a.c.exec(ctx, "UPDATE log_break SET mended = $1 WHERE id = $2", millis(a.batch.Received), w.id); err != nil {
			return err
		}
	}
	return nil
}
