package keys

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"sync"
	"time"

	"golang.org/x/sys/unix"
	"golang.org/x/term"

	"evenbell/hardware"
)

// repeat is the pace below which the presses of one key count as its repeating
// itself: terminals do so about every 33 ms (from memory), a hand after 100 at
// the soonest.
const repeat = 80 * time.Millisecond

// Box is a keyboard as a button box. It ends with io.EOF where its input does,
// and with hardware.ErrQuit at q or Ctrl-C.
type Box struct {
	*hardware.Feed
	once    sync.Once
	restore func() error // puts the terminal back
}

// Open reads keys from in. A terminal is put into a state in which each key
// arrives at once and unseen; Close puts it back. The box is the only reader
// of in until it is closed.
//
// A file, a pipe or a terminal is waited for so that Close is never held up;
// any other reader must return from Read for Close to return, so give one that
// never waits, or end it first.
func Open(in io.Reader) (*Box, error) {
	file, ok := in.(*os.File)
	if !ok {
		return &Box{Feed: hardware.NewFeed(watch(in.Read, 0)), restore: keep}, nil
	}
	restore, pace := keep, time.Duration(0)
	if fd := int(file.Fd()); term.IsTerminal(fd) {
		var err error
		if restore, err = unline(fd); err != nil {
			return nil, fmt.Errorf("reading keys from the terminal: %w", err)
		}
		pace = repeat
	}
	wake, waker, err := os.Pipe() // its closing ends a wait
	if err != nil {
		return nil, errors.Join(fmt.Errorf("reading keys: %w", err), restore())
	}
	wait := waiting(int(file.Fd()), int(wake.Fd()))
	feed := hardware.NewFeed(func(ctx context.Context, send func(hardware.Press)) error {
		defer runtime.KeepAlive(file) // which would close it, once forgotten
		defer wake.Close()
		defer context.AfterFunc(ctx, func() { waker.Close() })()
		return watch(wait, pace)(ctx, send)
	})
	return &Box{Feed: feed, restore: restore}, nil
}

// Close ends the box and puts the terminal back as it was.
func (b *Box) Close() (err error) {
	b.Feed.Close()
	b.once.Do(func() {
		if fault := b.restore(); fault != nil {
			err = fmt.Errorf("putting the terminal back: %w", fault)
		}
	})
	return err
}

// watch sends what is read, without what follows its like within pace.
func watch(next func([]byte) (int, error), pace time.Duration) hardware.Watch {
	return func(ctx context.Context, send func(hardware.Press)) error {
		last := map[hardware.Control]time.Duration{}
		buf := make([]byte, 256)
		for ctx.Err() == nil {
			n, err := next(buf)
			now := hardware.Now()
			pressed, quit := read(buf[:n])
			for _, c := range pressed {
				before, again := last[c]
				last[c] = now
				if !again || now-before >= pace {
					send(hardware.Press{Control: c, Time: now})
				}
			}
			if quit {
				return hardware.ErrQuit
			}
			if err == io.EOF || ctx.Err() != nil {
				return err
			}
			if err != nil {
				return fmt.Errorf("reading keys: %w", err)
			}
		}
		return nil
	}
}

// waiting reads from in, and returns without a byte when wake is closed.
func waiting(in, wake int) func([]byte) (int, error) {
	return func(b []byte) (int, error) {
		fds := []unix.PollFd{{Fd: int32(in), Events: unix.POLLIN}, {Fd: int32(wake), Events: unix.POLLIN}}
		for {
			_, err := unix.Poll(fds, -1)
			switch {
			case err == unix.EINTR:
				continue
			case err != nil:
				return 0, err
			case fds[1].Revents != 0:
				return 0, nil
			}
			n, err := unix.Read(in, b)
			switch {
			case err == unix.EINTR || err == unix.EAGAIN:
				continue
			case n == 0 && err == nil:
				return 0, io.EOF
			}
			return max(n, 0), err
		}
	}
}

// unline makes a terminal give each key at once, without showing it, Ctrl-C
// and Ctrl-Z among them; the result puts it back.
func unline(fd int) (restore func() error, err error) {
	was, err := unix.IoctlGetTermios(fd, unix.TCGETS)
	if err != nil {
		return nil, err
	}
	now := *was
	now.Lflag &^= unix.ICANON | unix.ECHO
	now.Cc[unix.VMIN], now.Cc[unix.VTIME] = 1, 0
	now.Cc[unix.VINTR], now.Cc[unix.VSUSP] = 0, 0 // no key
	if err := unix.IoctlSetTermios(fd, unix.TCSETS, &now); err != nil {
		return nil, err
	}
	return func() error { return unix.IoctlSetTermios(fd, unix.TCSETS, was) }, nil
}

// keep puts back nothing.
func keep() error { return nil }
