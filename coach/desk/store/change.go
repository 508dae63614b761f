package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// change is one transaction that writes.
type change struct {
	*sql.Tx
	of       *Store
	version  int64 // of the store once this is committed
	ids      int64 // last one given
	given    bool
	written  int // bytes, roughly
	spoiled  error
	finished bool
}

type changeKey struct{}

// underWay is the change that ctx belongs to, or nil.
func (s *Store) underWay(ctx context.Context) *change {
	if c, ok := ctx.Value(changeKey{}).(*change); ok && c.of == s && !c.finished {
		return c
	}
	return nil
}

// reading is where to read: inside a change, what the change has made of it.
func (s *Store) reading(ctx context.Context) querier {
	if c := s.underWay(ctx); c != nil {
		return c.Tx
	}
	return s.db.read
}

// Together makes everything that work does through its own context one
// transaction: all of it or, where work returns an error, nothing. Work must
// not change the store through the outer context: it would wait for itself.
// Keep it short, since every other change waits.
func (s *Store) Together(ctx context.Context, work func(context.Context) error) error {
	return s.change(ctx, func(ctx context.Context, _ *change) error { return work(ctx) })
}

// change runs work as a transaction, or as a part of the one that ctx belongs
// to. It is where durability is: nothing may be told as done before it returns.
func (s *Store) change(ctx context.Context, work func(context.Context, *change) error) error {
	if c := s.underWay(ctx); c != nil {
		return work(ctx, c)
	}
	if err := s.Err(); err != nil {
		return err
	}
	conn, err := s.db.write.Conn(ctx)
	if err != nil {
		return fmt.Errorf("waiting for the store: %w", err)
	}
	defer conn.Close()
	if err := s.Err(); err != nil { // while we waited
		return err
	}
	// A change is short, and one that has begun is not broken off: a statement
	// interrupted in the middle would look like a failed disk.
	ctx = context.WithoutCancel(ctx)
	c, err := s.begin(ctx, conn)
	if err == nil {
		err = c.run(context.WithValue(ctx, changeKey{}, c), work)
	}
	if err != nil {
		if s.db.fatal(err) {
			return s.fail(err)
		}
		return err
	}
	s.noticed(c.version)
	if err := s.db.after(ctx, conn, c.written); err != nil {
		return s.fail(err)
	}
	return nil
}

func (s *Store) begin(ctx context.Context, conn *sql.Conn) (*change, error) {
	tx, err := s.db.begin(ctx, conn)
	if err != nil {
		return nil, fmt.Errorf("beginning a change: %w", err)
	}
	c := &change{Tx: tx, of: s}
	if err := tx.QueryRowContext(ctx, "UPDATE state SET version = version + 1 RETURNING version, ids").Scan(&c.version, &c.ids); err != nil {
		return nil, errors.Join(fmt.Errorf("beginning a change: %w", err), tx.Rollback())
	}
	return c, nil
}

func (c *change) run(ctx context.Context, work func(context.Context, *change) error) error {
	defer func() {
		if !c.finished { // work panicked
			c.finished = true
			_ = c.Rollback()
		}
	}()
	err := work(ctx, c)
	if err == nil {
		err = c.spoiled
	}
	if err == nil && c.given {
		_, err = c.exec(ctx, "UPDATE state SET ids = $1", c.ids)
	}
	c.finished = true
	if err != nil {
		if end := c.Rollback(); end != nil && !errors.Is(end, sql.ErrTxDone) {
			err = errors.Join(err, end)
		}
		return err
	}
	if err := c.Commit(); err != nil {
		return fmt.Errorf("committing: %w", err)
	}
	return nil
}

// id gives an id that nothing else has.
func (c *change) id() int64 {
	c.given = true
	c.ids++
	return c.ids
}

// exec changes rows and says how many. A statement that fails spoils the
// whole change, whatever the caller makes of the error.
func (c *change) exec(ctx context.Context, query string, args ...any) (int64, error) {
	r, err := c.ExecContext(ctx, query, args...)
	if err != nil {
		return 0, c.spoil(err)
	}
	return r.RowsAffected()
}

func (c *change) spoil(err error) error {
	c.spoiled = fmt.Errorf("writing: %w", err)
	return c.spoiled
}

// must changes exactly the rows it names; where there is none, the error wraps
// otherwise.
func (c *change) must(ctx context.Context, what string, otherwise error, query string, args ...any) error {
	n, err := c.exec(ctx, query, args...)
	if err != nil {
		return err
	}
	if n == 0 {
		return fmt.Errorf("%s: %w", what, otherwise)
	}
	return nil
}
