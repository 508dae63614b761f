package main

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"slices"

	_ "modernc.org/sqlite" // registers the driver

	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// plainRows puts records as plain rows into a table and index like the store's,
// in as large changes and with the same care for the disk, with nothing looked
// at.
func plainRows(ctx context.Context, dir string, records []journal.Record) (err error) {
	db, err := sql.Open("sqlite", filepath.Join(dir, "plain.db")+"?_txlock=immediate&_pragma=journal_mode(wal)&_pragma=synchronous(FULL)")
	if err != nil {
		return err
	}
	defer func() {
		if end := db.Close(); err == nil {
			err = end
		}
	}()
	db.SetMaxOpenConns(1)
	if _, err := db.ExecContext(ctx, `CREATE TABLE entry (epoch BIGINT, seq BIGINT, line TEXT, hash TEXT, session TEXT, tag TEXT, kind TEXT,
		mono BIGINT, at BIGINT, within_ms BIGINT, dated INTEGER, received BIGINT, carried INTEGER, PRIMARY KEY (epoch, seq));
		CREATE INDEX entry_tag ON entry (tag, at) WHERE tag <> ''`); err != nil {
		return err
	}
	for part := range slices.Chunk(records, link.MaxBatch) {
		if err := plainChange(ctx, db, part); err != nil {
			return fmt.Errorf("putting plain rows: %w", err)
		}
	}
	return nil
}

func plainChange(ctx context.Context, db *sql.DB, records []journal.Record) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // nothing to do after a commit
	insert, err := tx.PrepareContext(ctx, "INSERT INTO entry VALUES (1, ?, ?, ?, ?, ?, ?, ?, ?, 0, 0, ?, 0)")
	if err != nil {
		return err
	}
	for _, r := range records {
		if _, err := insert.ExecContext(ctx, r.Seq, string(r.Line), r.Hash.String(), "session of T1", "T1", "rep", r.Seq, r.Seq, r.Seq); err != nil {
			return err
		}
	}
	return tx.Commit()
}
