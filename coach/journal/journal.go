package journal

import (
	"database/sql"
	"errors"
	"fmt"
	"os"
	"sync"

	"evenbell/coach"
)

// ErrFailed is in the error when a write or an fsync has failed, and in every
// error after it. Nothing makes the journal good again but a new start of the
// program.
var ErrFailed = errors.New("the log has failed and takes no more")

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

// Previous is what the log ended with before this start of the program, as
// the start entry names it: zero where it is the first.
func (j *Journal) Previous() coach.StartData { return j.previous }

// Epoch is the name of the epoch this start of the program writes in.
func (j *Journal) Epoch() string { return j.epoch.epoch }

// Mono is now on the clock by which entries are dated, CLOCK_BOOTTIME in
// nanoseconds. It never waits.
func (j *Journal) Mono() int64 { return j.clock.Mono() }

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
	default:
		return j.failed
	}
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
	j.failed = fmt.Errorf("%w: %w", ErrFailed, err)
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
	var err error
	if j.failed == nil {
		err = j.Reader.Close()
	}
	return errors.Join(err, j.mark.file.Close(), j.lock.Close())
}
