package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
)

// OpenPostgres takes a PostgreSQL database instead of a folder, for a hospital
// network that has outgrown one file; the caller brings the driver and closes
// db after the store. Backups are then PostgreSQL's own.
func OpenPostgres(ctx context.Context, db *sql.DB) (*Store, error) {
	e := engine{
		name: "postgres", write: db, read: db, loop: db,
		begin:  func(ctx context.Context, conn *sql.Conn) (*sql.Tx, error) { return conn.BeginTx(ctx, nil) },
		insert: insertPostgres,
		after:  func(context.Context, *sql.Conn, int) error { return nil },
		// A server that cannot write ends by itself, and a lost connection is
		// no lost disk.
		fatal:  func(error) bool { return false },
		backup: func(context.Context, string) error { return errNoCopy },
		end:    func() error { return nil },
	}
	if err := migrate(ctx, e); err != nil {
		return nil, fmt.Errorf("opening the store: %w", err)
	}
	return start(ctx, e, "", nil)
}

var errNoCopy = errors.New("the data is on a PostgreSQL server: back it up there, with pg_dump")
