package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"
)

// Store is the desk's database. It may be used by several goroutines; changes
// wait for each other and for the disk.
type Store struct {
	db   engine
	dir  string // empty where the data is not in a folder of ours
	hold *os.File

	mu      sync.Mutex // guards what follows
	seen    int64      // the newest version known
	changed chan struct{}
	failure error
	failed  chan struct{}
	serving *os.File
	stop    context.CancelFunc
	done    chan struct{}
}

// engine is what SQLite and PostgreSQL do differently.
type engine struct {
	name   string
	write  *sql.DB
	read   *sql.DB // for what has been read when the call returns
	loop   *sql.DB // for what is read while the caller goes on
	begin  func(context.Context, *sql.Conn) (*sql.Tx, error)
	after  func(context.Context, *sql.Conn, int) error // after a commit of so many bytes
	fatal  func(error) bool                            // whether an error of a change is the end
	insert batchInsert
	backup func(context.Context, string) error
	end    func() error // before closing, unless it has failed
}

func (e engine) close() error { return errors.Join(e.loop.Close(), e.read.Close(), e.write.Close()) }

func start(ctx context.Context, db engine, dir string, hold *os.File) (*Store, error) {
	s := &Store{db: db, dir: dir, hold: hold, changed: make(chan struct{}), failed: make(chan struct{}), done: make(chan struct{})}
	var err error
	if s.seen, err = s.Version(ctx); err != nil {
		return nil, err
	}
	watching, stop := context.WithCancel(context.Background())
	s.stop = stop
	go s.watch(watching)
	return s, nil
}

// Close ends the store. After a failure it leaves the files as they are, so
// that no later fsync glosses over the one that failed.
func (s *Store) Close() error {
	s.mu.Lock()
	if s.stop == nil {
		s.mu.Unlock()
		return nil
	}
	s.stop()
	s.stop = nil
	failed := s.failure != nil
	s.mu.Unlock()
	<-s.done
	var err error
	if !failed {
		err = errors.Join(s.db.end(), s.db.close())
	}
	for _, f := range []*os.File{s.serving, s.hold} {
		if f != nil {
			err = errors.Join(err, f.Close())
		}
	}
	return err
}

// Serve claims the folder for one server until Close; ErrInUse says that
// another has it. Commands beside a server do not call it.
func (s *Store) Serve() error {
	if s.dir == "" {
		return nil // who runs a PostgreSQL server sees to that
	}
	f, err := claim(context.Background(), s.dir, servingName, true, 0)
	if err != nil {
		return fmt.Errorf("serving %s: %w", s.dir, err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.serving = f
	return nil
}

// Failed is closed when the store has failed for good; Err then says why. The
// server should leave.
func (s *Store) Failed() <-chan struct{} { return s.failed }

// Err is what the store failed with; nil while it has not.
func (s *Store) Err() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.failure
}

// fail makes err the last word of this store.
func (s *Store) fail(err error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.failure == nil {
		s.failure = fmt.Errorf("%w: %w", ErrFailed, err)
		close(s.failed)
	}
	return s.failure
}

// Changed gives a channel that is closed at the next change by anybody, other
// programs included (those within a quarter of a second). Take it before
// reading what may have changed.
func (s *Store) Changed() <-chan struct{} {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.changed
}

// Version counts the changes made to this database by anybody.
func (s *Store) Version(ctx context.Context) (int64, error) {
	return one(ctx, s.reading(ctx), func(r row) (n int64, err error) { return n, r.Scan(&n) },
		"the store's version", "SELECT version FROM state")
}

const watchEvery = 250 * time.Millisecond

// watch notices what other programs change. It ends when ctx does.
func (s *Store) watch(ctx context.Context) {
	defer close(s.done)
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if v, err := s.Version(ctx); err == nil { // one that fails is tried again
			s.noticed(v)
		}
	}
}

func (s *Store) noticed(version int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if version > s.seen {
		s.seen = version
		close(s.changed)
		s.changed = make(chan struct{})
	}
}
