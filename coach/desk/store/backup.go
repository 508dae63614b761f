package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// Backup writes a consistent copy of the store to a file while it is in use.
// The file appears whole or not at all, in place of one of that name, and only
// after it was read back and found sound.
func (s *Store) Backup(ctx context.Context, file string) error {
	if err := s.db.backup(ctx, file); err != nil {
		return fmt.Errorf("backing up: %w", err)
	}
	return nil
}

// vacuumInto copies a database into a file.
func vacuumInto(ctx context.Context, db *sql.DB, file string) (err error) {
	folder, err := os.MkdirTemp(filepath.Dir(file), ".backup-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	copied := filepath.Join(folder, fileName)
	if err := private(copied); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, "VACUUM INTO $1", copied); err != nil {
		return fmt.Errorf("copying: %w", err)
	}
	if _, err := sound(ctx, copied, "quick_check"); err != nil {
		return fmt.Errorf("reading the copy back: %w", err)
	}
	return put(copied, file)
}

// put moves a file to its place, durably: its bytes first, then its name.
func put(from, to string) error {
	if err := fsync(from); err != nil {
		return err
	}
	if err := os.Rename(from, to); err != nil {
		return err
	}
	return fsync(filepath.Dir(to))
}

func fsync(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// sound looks over a file that nobody has open, by one of SQLite's own checks,
// and gives its schema. It changes nothing, not even beside the file.
func sound(ctx context.Context, file, check string) (schema int64, err error) {
	path, err := filepath.Abs(file)
	if err != nil {
		return 0, err
	}
	if _, err := os.Stat(path); err != nil {
		return 0, err
	}
	db, err := sql.Open("sqlite", "file:"+escaped(path)+"?mode=ro&immutable=1&_pragma=cell_size_check(1)")
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	var id int
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return 0, err
	}
	if id != applicationID {
		return 0, fmt.Errorf("it is not a desk's database: its application id is %#x, and a desk's is %#x", id, applicationID)
	}
	var said string
	if err := db.QueryRowContext(ctx, "PRAGMA "+check+"(1)").Scan(&said); err != nil {
		return 0, err
	}
	if said != "ok" {
		return 0, fmt.Errorf("it is damaged: %s", said)
	}
	return schemaOf(ctx, db)
}
