package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
)

func escaped(path string) string { return (&url.URL{Path: path}).EscapedPath() }

// Restore puts a backup in the place of the store in dir, which it makes if it
// is not there, and gives the file in which the old store is kept; empty where
// there was none. It is refused with ErrInUse while any program has the folder
// open, and leaves everything as it is where the backup is not sound.
func Restore(ctx context.Context, dir, backup string) (kept string, err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("restoring %s: %w", backup, err)
		}
	}()
	if err := restorable(ctx, backup, "quick_check"); err != nil {
		return "", err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	lock, err := claim(ctx, dir, lockName, true, 0)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, lock.Close()) }()
	fresh := filepath.Join(dir, ".restoring.db")
	if err := copyFile(backup, fresh); err != nil {
		return "", errors.Join(err, os.Remove(fresh))
	}
	// Read again as it now lies here, every index included: this is what will
	// be in use.
	if err := restorable(ctx, fresh, "integrity_check"); err != nil {
		return "", errors.Join(err, os.Remove(fresh))
	}
	if kept, err = keepOld(ctx, dir); err != nil {
		return "", err
	}
	return kept, put(fresh, filepath.Join(dir, fileName))
}

// restorable refuses what is no sound backup that this program can read.
func restorable(ctx context.Context, file, check string) error {
	schema, err := sound(ctx, file, check)
	if err != nil {
		return err
	}
	newest, err := newestSchema()
	if err == nil && schema > newest {
		err = fmt.Errorf("%w: its schema is %d and this program knows up to %d", ErrNewer, schema, newest)
	}
	return err
}

// keepOld gives the old store a second name and takes its write-ahead log out
// of the new one's way. The first name stays until the new store takes it, so
// that there is one at every moment.
func keepOld(ctx context.Context, dir string) (string, error) {
	old := filepath.Join(dir, fileName)
	if _, err := os.Stat(old); errors.Is(err, os.ErrNotExist) {
		return "", nil
	}
	// With its log moved into it the old store is one file. Where it is
	// damaged, and that cannot be done, the log is kept beside it.
	if db, err := openSQLite(old, fullCare); err == nil {
		_ = checkpoint(ctx, db.write, "TRUNCATE")
		_ = db.close()
	}
	kept, err := freeName(dir)
	if err != nil {
		return "", err
	}
	if err := os.Link(old, kept); err != nil {
		return "", err
	}
	if err := os.Rename(old+"-wal", kept+"-wal"); err != nil && !errors.Is(err, os.ErrNotExist) {
		return "", err
	}
	if err := os.Remove(old + "-shm"); err != nil && !errors.Is(err, os.ErrNotExist) {
		return "", err
	}
	return kept, nil
}

func freeName(dir string) (string, error) {
	for n := 1; ; n++ {
		name := filepath.Join(dir, fmt.Sprintf("desk-before-restore-%d.db", n))
		if _, err := os.Lstat(name); errors.Is(err, os.ErrNotExist) {
			return name, nil
		} else if err != nil {
			return "", err
		}
	}
}

func copyFile(from, to string) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	if _, err := io.Copy(out, in); err != nil {
		return err
	}
	return out.Sync()
}
