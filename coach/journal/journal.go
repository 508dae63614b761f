package journal

import (
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"

	"golang.org/x/sys/unix"

	"evenbell/coach"
)

// ErrFailed is in the error of every Append after a write or an fsync has
// failed. Nothing makes the journal good again but a new start of the program.
var ErrFailed = errors.New("the log has failed and takes no more")

// ErrInUse says that another process writes this log.
var ErrInUse = errors.New("another program is writing this log")

const commitsPerCheckpoint = 16

// Journal is the durable log of one start of the program. It may be used by
// several goroutines; each waits for the disk, so the audio goroutine goes
// through a [Recorder].
type Journal struct {
	*Reader
	clock    Clock
	boot     string
	epoch    epochRow // its acked, kept and before are those of the start
	mark     *mark
	lock     *os.File
	mu       sync.Mutex // guards what follows, and the order of commits
	at       head
	commits  int
	steps    stepWatch
	failed   error
	closed   bool
	previous coach.StartData
}

// Option changes how a journal is opened.
type Option func(*options)

type options struct {
	clock       Clock
	synchronous string
}

// WithClock makes the journal date its entries by another clock.
func WithClock(c Clock) Option { return func(o *options) { o.clock = c } }

// Open begins a new epoch in the log in dir, which it makes if it is not
// there. The folder is this journal's own. A damaged log is refused with a
// *[CorruptError] and left as it is; [SetAside] moves it out of the way.
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
	boot, err := bootID()
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
	return checkMark(dir, r.store)
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
	if _, err := j.commit(first, []coach.Entry{{Kind: coach.EntryStart, Data: &start}}); err != nil {
		return err
	}
	return syncFolder(j.dir)
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

// Previous is what the log ended with before this start of the program, as
// the start entry names it: zero where it is the first.
func (j *Journal) Previous() coach.StartData { return j.previous }

// Epoch is the name of the epoch this start of the program writes in.
func (j *Journal) Epoch() string { return j.epoch.epoch }

// Mono is now on the clock by which entries are dated, CLOCK_BOOTTIME in
// nanoseconds. It never waits.
func (j *Journal) Mono() int64 { return j.clock.Now().Mono }

// Append writes the entries as one, all or none, and returns the position of
// the last one when they are on the disk. It fills in epoch, seq, boot and
// wall, and mono_ns where it is zero; wall is the moment of mono_ns, or null
// while the clock is not trusted. Once it has failed it always does.
func (j *Journal) Append(entries ...coach.Entry) (Position, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if len(entries) == 0 {
		return j.at.Position, j.usable()
	}
	if err := j.usable(); err != nil {
		return Position{}, err
	}
	for _, e := range entries {
		if e.Kind == coach.EntryStart {
			return Position{}, errors.New("a start entry is the journal's own to write")
		}
	}
	return j.commit(nil, entries)
}

func (j *Journal) usable() error {
	switch {
	case j.closed:
		return errors.New("the log is closed")
	case j.failed != nil:
		return fmt.Errorf("%w: %w", ErrFailed, j.failed)
	}
	return nil
}

// commit makes one transaction of first and the entries. It is where
// durability is: nothing may return a position before it.
func (j *Journal) commit(first func(*sql.Tx) error, entries []coach.Entry) (Position, error) {
	records, at, err := j.records(entries)
	if err != nil {
		return Position{}, err // the caller's, and nothing was written
	}
	err = j.store.within(func(tx *sql.Tx) error {
		if first != nil {
			if err := first(tx); err != nil {
				return err
			}
		}
		for _, r := range records {
			if err := insertRecord(tx, j.epoch.ordinal, r); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		j.at = at
		err = j.afterCommit()
	}
	if err != nil {
		return Position{}, j.fail(err)
	}
	return at.Position, nil
}

// fail makes err the last word of this journal.
func (j *Journal) fail(err error) error {
	j.failed = fmt.Errorf("writing the log: %w", err)
	return j.failed
}

func (j *Journal) afterCommit() error {
	if err := j.mark.set(j.at); err != nil {
		return err
	}
	if j.commits++; j.commits%commitsPerCheckpoint != 0 {
		return nil
	}
	return j.store.checkpoint("PASSIVE")
}

// records numbers, dates and chains the entries, and gives the new head.
func (j *Journal) records(entries []coach.Entry) ([]Record, head, error) {
	now := j.clock.Now()
	if moved, ok := j.steps.see(now); ok {
		entries = append([]coach.Entry{clockMoved(moved)}, entries...)
	}
	at, records := j.at, make([]Record, 0, len(entries))
	for _, e := range entries {
		e.Epoch, e.Seq, e.Boot = j.epoch.epoch, at.Seq+1, j.boot
		date(&e, now)
		line, err := Line(e)
		if err != nil {
			return nil, head{}, err
		}
		at = head{Position{e.Epoch, e.Seq}, at.hash.Next(line)}
		records = append(records, Record{at.Position, line, at.hash})
	}
	return records, at, nil
}

// Close ends the journal. After a failure it leaves the file as it is, so
// that no later fsync glosses over the one that failed.
func (j *Journal) Close() error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.closed {
		return nil
	}
	j.closed = true
	err := errors.Join(j.mark.file.Close(), j.lock.Close())
	if j.failed != nil {
		return err
	}
	return errors.Join(j.Reader.Close(), err)
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
