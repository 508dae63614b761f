package journal

import (
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"golang.org/x/sys/unix"

	"evenbell/coach"
)

// ErrInUse says that another process writes this log.
var ErrInUse = errors.New("another program is writing this log")

// Option changes how a journal is opened.
type Option func(*options)

type options struct {
	clock       Clock
	synchronous string
}

// WithClock makes the journal date its entries by another clock.
func WithClock(c Clock) Option { return func(o *options) { o.clock = c } }

// Open begins a new epoch in the log in dir, which it makes if it is not
// there. All its files are named journal…, so the folder may hold others. A
// damaged log is refused with a *[CorruptError] and left as it is; [SetAside]
// moves it out of the way.
func Open(dir string, with ...Option) (*Journal, error) {
	o := options{clock: SystemClock{}, synchronous: "FULL"}
	for _, w := range with {
		w(&o)
	}
	if err := makeFolder(dir); err != nil {
		return nil, err
	}
	lock, err := takeLock(dir)
	if err != nil {
		return nil, err
	}
	j, err := open(dir, o)
	if err != nil {
		return nil, errors.Join(err, lock.Close())
	}
	j.lock = lock
	return j, nil
}

func open(dir string, o options) (*Journal, error) {
	if err := inspect(dir); err != nil {
		return nil, err
	}
	boot, err := BootID()
	if err != nil {
		return nil, err
	}
	m, err := openMark(dir)
	if err != nil {
		return nil, err
	}
	s, err := openStore(dir, "rwc", o.synchronous)
	if err != nil {
		return nil, errors.Join(err, m.file.Close())
	}
	j := &Journal{Reader: &Reader{dir, s}, clock: o.clock, boot: boot, mark: m}
	if err := j.begin(o.synchronous); err != nil {
		return nil, errors.Join(fmt.Errorf("beginning an epoch: %w", err), s.db.Close(), m.file.Close())
	}
	return j, nil
}

// inspect reads the end of a log before anything may change it.
func inspect(dir string) error {
	m, err := findMark(dir)
	if err != nil {
		return err
	}
	r, err := OpenReader(dir)
	if errors.Is(err, ErrNoLog) {
		return nil
	}
	if err != nil {
		return err
	}
	defer r.Close()
	if _, err := r.Head(); err != nil {
		return err
	}
	return r.store.reaches(m)
}

// begin writes the epoch's row and its start entry, and the tables where
// there are none, in one transaction. What a power cut left in SQLite's log
// is first moved out of it: it may end in the middle of a sector, and a
// commit torn there would take the last durable one with it.
func (j *Journal) begin(synchronous string) error {
	if err := j.store.assertPragmas(synchronous); err != nil {
		return err
	}
	if err := j.store.checkpoint("TRUNCATE"); err != nil {
		return err
	}
	begun, err := j.store.begun()
	if err != nil {
		return err
	}
	last, ordinal, err := j.last(begun)
	if err != nil {
		return err
	}
	var name [16]byte
	if _, err := rand.Read(name[:]); err != nil {
		return fmt.Errorf("naming it: %w", err)
	}
	j.epoch = epochRow{ordinal: ordinal + 1, epoch: hex.EncodeToString(name[:]), kept: 1}
	j.at = head{Position: Position{Epoch: j.epoch.epoch}}
	j.previous = last.startData()
	first := func(tx *sql.Tx) error {
		if !begun {
			if err := createTables(tx); err != nil {
				return err
			}
		}
		return j.epoch.write(tx)
	}
	start := j.previous
	if start.Gap, err = j.gap(ordinal, last); err != nil {
		return err
	}
	if _, err := j.commit(first, []coach.Entry{{Kind: coach.EntryStart, Data: &start}}); err != nil {
		return err
	}
	return syncFolder(j.dir)
}

// gap is how long ago the log's last entry was: by the boot's own clock in one
// boot, else by wall times where both are trusted; nil where neither tells.
func (j *Journal) gap(ordinal int64, last head) (*coach.Seconds, error) {
	if ordinal == 0 || last.Seq == 0 {
		return nil, nil
	}
	records, err := j.store.records(epochRow{ordinal: ordinal, epoch: last.Epoch}, last.Seq-1, 1)
	if err != nil || len(records) == 0 {
		return nil, err
	}
	e, err := records[0].Entry()
	if err != nil {
		return nil, &CorruptError{Position: last.Position, Damage: DamagedForm, Detail: err.Error()}
	}
	now := j.clock.Now()
	var ago coach.Seconds
	switch {
	case e.Boot == j.boot:
		ago = coach.Seconds(now.Mono - e.MonoNS)
	case now.Trusted && e.Wall != nil:
		ago = coach.Seconds(now.Wall.Sub(*e.Wall))
	default:
		return nil, nil
	}
	ago = max(0, ago) // a clock may have been set back meanwhile
	return &ago, nil
}

// last is where the log ends now. A log that begins anew beside the mark of
// one that was set aside follows that one.
func (j *Journal) last(begun bool) (head, int64, error) {
	if !begun {
		h, _, _, err := readMark(j.dir)
		return h, 0, err
	}
	epochs, err := j.store.epochs()
	if err != nil || len(epochs) == 0 {
		return head{}, 0, err
	}
	newest := epochs[len(epochs)-1]
	h, err := j.store.head(newest)
	return h, newest.ordinal, err
}

func makeFolder(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("making the log's folder: %w", err)
	}
	return syncFolder(filepath.Dir(filepath.Clean(dir)))
}

// syncFolder makes the names in a folder durable.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("syncing the log's folder: %w", err)
	}
	if err := errors.Join(d.Sync(), d.Close()); err != nil {
		return fmt.Errorf("syncing the log's folder: %w", err)
	}
	return nil
}

func takeLock(dir string) (*os.File, error) {
	f, err := os.OpenFile(filepath.Join(dir, "journal.lock"), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("locking the log: %w", err)
	}
	if err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB); err != nil {
		return nil, errors.Join(fmt.Errorf("%s: %w", dir, ErrInUse), f.Close())
	}
	return f, nil
}
