package store

import (
	"context"
	"fmt"
	"strings"

	"evenbell/coach/journal"
)

const (
	entryColumns = 13
	rowsAtOnce   = 32 // in one statement; each statement costs as much as a few rows
)

// insertRows is the statement that stores n entries.
func insertRows(n int) string {
	var b strings.Builder
	b.WriteString("INSERT INTO entry (epoch, seq, line, hash, session, tag, kind, mono, at, within_ms, dated, received, carried) VALUES ")
	for i := range n {
		if i > 0 {
			b.WriteString(", ")
		}
		for c := range entryColumns {
			fmt.Fprintf(&b, "%c$%d", ",("[number(c == 0)], i*entryColumns+c+1)
		}
		b.WriteByte(')')
	}
	return b.String()
}

var (
	insertMany = insertRows(rowsAtOnce)
	insertOne  = insertRows(1)
)

// insert stores records of one epoch as they are.
func (a *appending) insert(ctx context.Context, e *epochRow, r span) error {
	var undated int64
	args := make([]any, 0, rowsAtOnce*entryColumns)
	for i := r.from; i < r.to; i++ {
		entry, dated := a.entry(e, i)
		if dated == notDated {
			undated++
		}
		a.done.Added = append(a.done.Added, entry)
		at := millis(entry.At)
		if dated == notDated {
			at = millis(entry.Received)
		}
		h := a.heads[i]
		args = append(args, e.id, entry.Seq, string(entry.Line), entry.Hash.String(), entry.Session, entry.Tag, string(entry.Kind),
			h.MonoNS, at, entry.Within.Milliseconds(), int64(dated), millis(entry.Received), number(entry.Carried))
		a.c.written += len(entry.Line) + 300
		if len(args) == cap(args) {
			if _, err := a.c.exec(ctx, insertMany, args...); err != nil {
				return err
			}
			args = args[:0]
		}
	}
	for ; len(args) > 0; args = args[entryColumns:] {
		if _, err := a.c.exec(ctx, insertOne, args[:entryColumns]...); err != nil {
			return err
		}
	}
	if undated > 0 {
		if _, err := a.c.exec(ctx, "UPDATE epoch SET undated = undated + $1 WHERE id = $2", undated, e.id); err != nil {
			return err
		}
	}
	return a.sessions(ctx, e, r)
}

// entry is a record of the batch as it will be kept, and how it got its time.
func (a *appending) entry(e *epochRow, i int) (Entry, dating) {
	h, record := a.heads[i], a.batch.Records[i]
	entry := Entry{Station: a.batch.Station, Record: journal.Record{Position: record.Position, Line: record.Line, Hash: record.Hash},
		Session: h.Session, Tag: h.Tag, Kind: h.Kind, Received: a.batch.Received, Carried: a.batch.Carried}
	var how dating
	entry.At, entry.Within, how = date(h, e)
	return entry, how
}

// finish mends breaks that waited for what came.
func (a *appending) finish(ctx context.Context) error {
	for _, e := range a.epochs {
		if e.id == 0 {
			continue
		}
		if err := a.mend(ctx, e); err != nil {
			return err
		}
	}
	return nil
}
