package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"sync/atomic"

	_ "modernc.org/sqlite" // registers the driver
)

const (
	fileName      = "desk.db"
	lockName      = "desk.lock"    // shared by all who have the folder open
	servingName   = "desk.serving" // held by the server
	applicationID = 0x65626431     // marks the file as a desk's

	// busyMS is how long a change waits for another program's.
	busyMS = 10_000
)

// care is how SQLite is told to treat the disk.
type care struct {
	synchronous string
	// The write-ahead log is moved into the file after so many commits or
	// bytes of one program, whichever comes first.
	commits, bytes int64
}

var fullCare = care{"FULL", 64, 4 << 20}

// Open opens desk.db in dir, which it makes if it is not there. A new one is
// laid out, an older schema brought up to date after a backup of its own beside
// it, and one that a newer program wrote is refused with ErrNewer. Several
// programs may have the same folder open.
func Open(ctx context.Context, dir string) (*Store, error) {
	return open(ctx, dir, fullCare)
}

func open(ctx context.Context, dir string, how care) (s *Store, err error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("making the desk's folder: %w", err)
	}
	hold, err := claim(ctx, dir, lockName, false, patience)
	if err != nil {
		return nil, fmt.Errorf("opening %s: %w", dir, err)
	}
	path := filepath.Join(dir, fileName)
	if err := private(path); err != nil {
		return nil, errors.Join(fmt.Errorf("opening the store: %w", err), hold.Close())
	}
	db, err := openSQLite(path, how)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("opening the store: %w", err), hold.Close())
	}
	s, err = prepare(ctx, db, dir, hold, how)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("opening the store: %w", err), db.close(), hold.Close())
	}
	return s, nil
}

// private makes a file, where there is none, that nobody else can read: it will
// have names of patients. What SQLite puts beside it it makes alike.
func private(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

func prepare(ctx context.Context, db engine, dir string, hold *os.File, how care) (*Store, error) {
	if err := assertPragmas(ctx, db.write, how.synchronous); err != nil {
		return nil, err
	}
	if err := ours(ctx, db.write); err != nil {
		return nil, err
	}
	if err := migrateFolder(ctx, db, dir, hold); err != nil {
		return nil, err
	}
	if err := checkpoint(ctx, db.write, "TRUNCATE"); err != nil {
		return nil, err
	}
	return start(ctx, db, dir, hold)
}

// readers is how many connections answer short questions. Three hundred stations
// ask at once when the desk comes back; to open a connection for each, and
// close it again, costs far more than to wait.
const readers = 8

// openSQLite opens a file through one connection that writes, some that read,
// and as many as are wanted for loops, which may ask more while they go on.
func openSQLite(path string, how care) (engine, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return engine{}, err
	}
	common := []string{fmt.Sprintf("busy_timeout(%d)", busyMS), "wal_autocheckpoint(0)", "cell_size_check(1)"}
	write, err := sql.Open("sqlite", dataSource(path, "immediate",
		append(common, "journal_mode(wal)", "synchronous("+how.synchronous+")", "foreign_keys(1)")))
	if err != nil {
		return engine{}, err
	}
	write.SetMaxOpenConns(1)
	if err := write.Ping(); err != nil {
		return engine{}, errors.Join(err, write.Close())
	}
	reading := dataSource(path, "deferred", append(common, "query_only(1)"))
	read, err := sql.Open("sqlite", reading)
	if err != nil {
		return engine{}, errors.Join(err, write.Close())
	}
	read.SetMaxOpenConns(readers)
	read.SetMaxIdleConns(readers)
	loop, err := sql.Open("sqlite", reading)
	if err != nil {
		return engine{}, errors.Join(err, read.Close(), write.Close())
	}
	var commits, written atomic.Int64
	return engine{
		name: "sqlite3", write: write, read: read, loop: loop, begin: beginImmediate, fatal: unsound, insert: insertSQLite,
		after: func(ctx context.Context, conn *sql.Conn, bytes int) error {
			if commits.Add(1) < how.commits && written.Add(int64(bytes)) < how.bytes {
				return nil
			}
			commits.Store(0)
			written.Store(0)
			return checkpoint(ctx, conn, "PASSIVE")
		},
		backup: func(ctx context.Context, file string) error {
			// Through a connection of its own: it is long, and nobody waits.
			copying, err := sql.Open("sqlite", dataSource(path, "deferred", common))
			if err != nil {
				return err
			}
			return errors.Join(vacuumInto(ctx, copying, file), copying.Close())
		},
		end: func() error { return checkpoint(context.Background(), write, "PASSIVE") },
	}, nil
}

func dataSource(path, lock string, pragmas []string) string {
	// psow=0: a memory card may spoil the whole sector it was writing to, so a
	// commit shares no sector with the next.
	query := url.Values{"mode": {"rwc"}, "psow": {"0"}, "_txlock": {lock}, "_pragma": pragmas}
	return (&url.URL{Scheme: "file", Path: path, RawQuery: query.Encode()}).String()
}

// beginImmediate takes the write lock at once, so that nothing later in the
// change finds it taken. Another program's change is waited for.
func beginImmediate(ctx context.Context, conn *sql.Conn) (*sql.Tx, error) {
	var tx *sql.Tx
	var err error
	for range 3 {
		if tx, err = conn.BeginTx(ctx, nil); err == nil || !busy(err) {
			return tx, err
		}
	}
	return nil, fmt.Errorf("another program has been writing for half a minute: %w", err)
}

// assertPragmas makes sure that what durability rests on was taken.
func assertPragmas(ctx context.Context, db *sql.DB, synchronous string) error {
	level := map[string]string{"NORMAL": "1", "FULL": "2"}[synchronous]
	for _, want := range []struct{ pragma, value string }{
		{"journal_mode", "wal"}, {"synchronous", level}, {"wal_autocheckpoint", "0"}, {"foreign_keys", "1"},
	} {
		var got string
		if err := db.QueryRowContext(ctx, "PRAGMA "+want.pragma).Scan(&got); err != nil {
			return fmt.Errorf("asking for %s: %w", want.pragma, err)
		}
		if got != want.value {
			return fmt.Errorf("%s is %s and must be %s: the store would not be durable here", want.pragma, got, want.value)
		}
	}
	return nil
}

// ours refuses a file that is another program's, and marks an empty one, before
// anything is laid out in it.
func ours(ctx context.Context, db *sql.DB) error {
	var id, tables int
	if err := db.QueryRowContext(ctx, "SELECT (SELECT application_id FROM pragma_application_id), count(*) FROM sqlite_schema").Scan(&id, &tables); err != nil {
		return fmt.Errorf("reading %s: %w", fileName, err)
	}
	switch {
	case id == applicationID:
		return nil
	case id == 0 && tables == 0:
		if _, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
			return fmt.Errorf("marking %s: %w", fileName, err)
		}
		return nil
	}
	return fmt.Errorf("%s is not a desk's database: its application id is %#x, and a desk's is %#x", fileName, id, applicationID)
}

// checkpoint moves what the write-ahead log has committed into the file
// itself. SQLite's own checkpoint keeps a failed fsync to itself; this one
// does not. A reader in its way is no failure.
func checkpoint(ctx context.Context, q interface {
	QueryRowContext(context.Context, string, ...any) *sql.Row
}, how string) error {
	var blocked, inLog, moved int
	err := q.QueryRowContext(ctx, "PRAGMA wal_checkpoint("+how+")").Scan(&blocked, &inLog, &moved)
	if err != nil && !busy(err) {
		return fmt.Errorf("checkpointing: %w", err)
	}
	return nil
}
