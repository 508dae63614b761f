package journal

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// ErrNoLog says that a folder holds no log yet.
var ErrNoLog = errors.New("there is no log here")

// Reader reads a log. It may be open in other processes at the same time,
// the one that writes it included. One goroutine uses it.
type Reader struct {
	dir   string
	store *store
}

// OpenReader opens the log in dir to be read only: nothing in the folder is
// changed, not even a damaged log's tail.
func OpenReader(dir string) (*Reader, error) {
	if _, err := os.Stat(filepath.Join(dir, fileName)); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", dir, ErrNoLog)
	}
	s, err := openStore(dir, "ro", "")
	if brokenOff(err) {
		return nil, fmt.Errorf("%s: %w", dir, ErrNoLog)
	}
	if err != nil {
		return nil, err
	}
	begun, err := s.begun()
	if err == nil && !begun {
		err = fmt.Errorf("%s: %w", dir, ErrNoLog)
	}
	if err != nil {
		return nil, errors.Join(err, s.db.Close())
	}
	return &Reader{dir, s}, nil
}

// brokenOff reports whether SQLite wants to roll back with a rollback journal.
// It uses one only while a new file is not in WAL mode yet, so the power was
// cut before there was a log; the next writer rolls back.
func brokenOff(err error) bool {
	var said *sqlite.Error
	return errors.As(err, &said) && said.Code() == sqlite3.SQLITE_READONLY_ROLLBACK
}

// Close ends the reading.
func (r *Reader) Close() error { return r.store.db.Close() }

// After gives up to limit entries that come after a position, oldest first,
// from one epoch to the next; after the zero Position comes the oldest kept.
// It asks for an epoch that this log has.
func (r *Reader) After(p Position, limit int) ([]Record, error) {
	epochs, err := r.store.epochs()
	if err != nil {
		return nil, err
	}
	epochs, err = from(epochs, p.Epoch)
	if err != nil {
		return nil, err
	}
	var out []Record
	for i, of := range epochs {
		seq := p.Seq
		if i > 0 || p.Epoch == "" {
			seq = 0
		}
		more, err := r.store.records(of, seq, limit-len(out))
		if err != nil {
			return nil, err
		}
		if out = append(out, more...); len(out) >= limit {
			break
		}
	}
	return out, nil
}

// from is the epochs from the named one on.
func from(epochs []epochRow, name string) ([]epochRow, error) {
	if name == "" {
		return epochs, nil
	}
	for i, e := range epochs {
		if e.epoch == name {
			return epochs[i:], nil
		}
	}
	return nil, fmt.Errorf("this log has no epoch %q", name)
}

// Newest gives the newest entries, up to limit, oldest first.
func (r *Reader) Newest(limit int) ([]Record, error) {
	epochs, err := r.store.epochs()
	if err != nil {
		return nil, err
	}
	var out []Record
	for i := len(epochs) - 1; i >= 0 && len(out) < limit; i-- {
		h, err := r.store.head(epochs[i])
		if err != nil {
			return nil, err
		}
		want := limit - len(out)
		older, err := r.store.records(epochs[i], h.Seq-int64(want), want)
		if err != nil {
			return nil, err
		}
		out = append(older, out...)
	}
	return out, nil
}

// WriteTo writes the whole log as JSON lines, each as it is stored.
func (r *Reader) WriteTo(w io.Writer) (int64, error) {
	var written int64
	at := Position{}
	for {
		batch, err := r.After(at, 500)
		if err != nil || len(batch) == 0 {
			return written, err
		}
		for _, rec := range batch {
			n, err := w.Write(append(rec.Line, '\n'))
			written += int64(n)
			if err != nil {
				return written, fmt.Errorf("writing the log out: %w", err)
			}
			at = rec.Position
		}
	}
}

// Head is the newest entry's position.
func (r *Reader) Head() (Position, error) {
	epochs, err := r.store.epochs()
	if err != nil || len(epochs) == 0 {
		return Position{}, err
	}
	h, err := r.store.head(epochs[len(epochs)-1])
	return h.Position, err
}
