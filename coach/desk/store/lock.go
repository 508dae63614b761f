package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"golang.org/x/sys/unix"
)

// patience is how long a folder is waited for while another program lays it
// out or brings its schema up to date.
const patience = 10 * time.Second

// claim takes the lock that a file stands for: alone, or shared with others
// that share it. The system gives it back when the program ends, however it
// does.
func claim(ctx context.Context, dir, name string, alone bool, wait time.Duration) (*os.File, error) {
	f, err := os.OpenFile(filepath.Join(dir, name), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("taking the lock: %w", err)
	}
	if err := take(ctx, f, alone, wait); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}

// take takes a lock, or makes one that is held another one; ErrInUse after
// wait.
func take(ctx context.Context, f *os.File, alone bool, wait time.Duration) error {
	how := unix.LOCK_SH
	if alone {
		how = unix.LOCK_EX
	}
	for until := time.Now().Add(wait); ; {
		err := unix.Flock(int(f.Fd()), how|unix.LOCK_NB)
		switch {
		case err == nil:
			return nil
		case !errors.Is(err, unix.EWOULDBLOCK):
			return fmt.Errorf("taking the lock: %w", err)
		case time.Now().After(until):
			return ErrInUse
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(20 * time.Millisecond):
		}
	}
}
