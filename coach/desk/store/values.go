package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// millis is a time as a row has it: milliseconds since 1970, 0 for the zero
// time.
func millis(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

func timeOf(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}

func number(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// into scans a column by a function, so that rows can be read straight into a
// value's fields.
type into func(any) error

// Scan is sql.Scanner's.
func (f into) Scan(v any) error { return f(v) }

func integer(v any) (int64, error) {
	switch n := v.(type) {
	case int64:
		return n, nil
	case nil:
		return 0, nil
	}
	return 0, fmt.Errorf("a column holds %T and must hold a whole number", v)
}

func aTime(t *time.Time) sql.Scanner {
	return into(func(v any) error {
		ms, err := integer(v)
		*t = timeOf(ms)
		return err
	})
}

func aStep(t **time.Time) sql.Scanner {
	return into(func(v any) error {
		ms, err := integer(v)
		if *t = nil; v != nil && err == nil {
			at := time.UnixMilli(ms).UTC()
			*t = &at
		}
		return err
	})
}

func aSpan(d *time.Duration) sql.Scanner {
	return into(func(v any) error {
		ms, err := integer(v)
		*d = time.Duration(ms) * time.Millisecond
		return err
	})
}

func aFlag(b *bool) sql.Scanner {
	return into(func(v any) error {
		n, err := integer(v)
		*b = n != 0
		return err
	})
}

func asJSON(to any) sql.Scanner {
	return into(func(v any) error {
		switch text := v.(type) {
		case string:
			return json.Unmarshal([]byte(text), to)
		case []byte:
			return json.Unmarshal(text, to)
		}
		return fmt.Errorf("a column holds %T and must hold JSON", v)
	})
}

// inJSON gives a column the value as JSON.
type inJSON struct{ v any }

// Value is driver.Valuer's.
func (j inJSON) Value() (driver.Value, error) {
	text, err := json.Marshal(j.v)
	return string(text), err
}

type row interface{ Scan(...any) error }

// querier is a pool or a transaction.
type querier interface {
	ExecContext(context.Context, string, ...any) (sql.Result, error)
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
	QueryRowContext(context.Context, string, ...any) *sql.Row
}

// one reads one row; what names it in the error that says there is none.
func one[T any](ctx context.Context, q querier, scan func(row) (T, error), what, query string, args ...any) (T, error) {
	v, err := scan(q.QueryRowContext(ctx, query, args...))
	if errors.Is(err, sql.ErrNoRows) {
		return v, none(what)
	}
	if err != nil {
		return v, fmt.Errorf("reading %s: %w", what, err)
	}
	return v, nil
}

// many reads all rows before it returns, so that a transaction's connection
// is free again.
func many[T any](ctx context.Context, q querier, scan func(row) (T, error), what, query string, args ...any) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", what, err)
	}
	defer rows.Close()
	var all []T
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, fmt.Errorf("reading %s: %w", what, err)
		}
		all = append(all, v)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("reading %s: %w", what, err)
	}
	return all, nil
}
