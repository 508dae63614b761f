package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenbell/coach/journal"
)

const entryColumns = 13

// insertRows is the statement that stores n entries, with a placeholder for
// each column.
func insertRows(n int, placeholder func(int) string) string {
	var b strings.Builder
	b.WriteString("INSERT INTO entry (epoch, seq, line, hash, session, tag, kind, mono, at, within_ms, dated, received, carried) VALUES ")
	for i := range n * entryColumns {
		switch {
		case i == 0:
			b.WriteString("(")
		case i%entryColumns == 0:
			b.WriteString("), (")
		default:
			b.WriteString(", ")
		}
		b.WriteString(placeholder(i + 1))
	}
	return b.String() + ")"
}

// batchInsert is how a database takes many rows fastest. A statement over a
// network costs as much as many rows; in SQLite many placeholders cost more
// than as many statements, and named ones are looked up each time.
type batchInsert struct {
	rows      int
	many, one string
}

func inserting(rows int, placeholder func(int) string) batchInsert {
	return batchInsert{rows, insertRows(rows, placeholder), insertRows(1, placeholder)}
}

var (
	insertSQLite   = inserting(1, func(int) string { return "?" })
	insertPostgres = inserting(50, func(n int) string { return "$" + strconv.Itoa(n) })
)

// inserter puts rows through prepared statements.
type inserter struct {
	c         *change
	how       batchInsert
	many, one *sql.Stmt
	args      []any
}

func (c *change) inserter(ctx context.Context) (*inserter, error) {
	in := &inserter{c: c, how: c.of.db.insert}
	var err error
	if in.one, err = c.PrepareContext(ctx, in.how.one); err != nil {
		return nil, c.spoil(err)
	}
	if in.many, err = c.PrepareContext(ctx, in.how.many); err != nil {
		return nil, c.spoil(err)
	}
	in.args = make([]any, 0, in.how.rows*entryColumns)
	return in, nil
}

// add takes a row, and puts as many as the statement takes.
func (in *inserter) add(ctx context.Context, row ...any) error {
	in.args = append(in.args, row...)
	if len(in.args) < in.how.rows*entryColumns {
		return nil
	}
	return in.put(ctx, in.many, in.how.rows*entryColumns)
}

// end puts what is left.
func (in *inserter) end(ctx context.Context) error {
	for len(in.args) > 0 {
		if err := in.put(ctx, in.one, entryColumns); err != nil {
			return err
		}
	}
	return errors.Join(in.one.Close(), in.many.Close())
}

func (in *inserter) put(ctx context.Context, by *sql.Stmt, n int) error {
	if _, err := by.ExecContext(ctx, in.args[:n]...); err != nil {
		return in.c.spoil(err)
	}
	in.args = in.args[:copy(in.args, in.args[n:])]
	return nil
}

// insert stores records of one epoch as they are.
func (a *appending) insert(ctx context.Context, e *epochRow, r span) error {
	in, err := a.c.inserter(ctx)
	if err != nil {
		return err
	}
	var undated int64
	a.done.Added = slices.Grow(a.done.Added, r.to-r.from)
	for i := r.from; i < r.to; i++ {
		entry := a.entry(e, i)
		at, _, dated := a.place(e, i)
		if dated == notDated {
			undated++
		}
		a.done.Added = append(a.done.Added, entry)
		a.c.written += len(entry.Line) + 300
		err := in.add(ctx, e.id, entry.Seq, string(entry.Line), entry.Hash.String(), entry.Session, entry.Tag, string(entry.Kind),
			a.heads[i].MonoNS, at, entry.Within.Milliseconds(), int64(dated), millis(entry.Received), number(entry.Carried))
		if err != nil {
			return err
		}
	}
	if err := in.end(ctx); err != nil {
		return err
	}
	if undated > 0 {
		if _, err := a.c.exec(ctx, "UPDATE epoch SET undated = undated + $1 WHERE id = $2", undated, e.id); err != nil {
			return err
		}
	}
	return a.sessions(ctx, e, r)
}

// entry is a record of the batch as it will be kept.
func (a *appending) entry(e *epochRow, i int) Entry {
	h, record := a.heads[i], a.batch.Records[i]
	entry := Entry{Station: a.batch.Station, Record: journal.Record{Position: record.Position, Line: record.Line, Hash: record.Hash},
		Session: h.Session, Tag: h.Tag, Kind: h.Kind, Received: a.batch.Received, Carried: a.batch.Carried}
	entry.At, entry.Within, _ = date(h, e, a.batch.Received)
	return entry
}

// place is where a record stands in the order of time, in milliseconds.
func (a *appending) place(e *epochRow, i int) (int64, time.Duration, dating) {
	at, within, how := date(a.heads[i], e, a.batch.Received)
	if how == notDated {
		at = a.batch.Received
	}
	return millis(at), within, how
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
