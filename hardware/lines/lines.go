// Package lines makes a button box of text: one control's name a line, from a
// file or from other programs through a FIFO. It is for tests and for whoever
// builds a box of their own.
//
// It knows lines and names, and imports only the contract of the box. Its
// choices, and why:
//
//   - A FIFO is held open for writing too, so that writers come and go without
//     its ever ending. A regular file is read once and ends with io.EOF.
//   - A line that names no control is logged and passed over, as is one that
//     is longer than any name: what is written there is no reason to stop
//     listening for a stop.
//   - Text has no time of its own; a press has the time at which its line was
//     read, and there is nothing to debounce.
package lines

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"strings"
	"time"

	"golang.org/x/sys/unix"

	"evenbell/hardware"
)

// Config says where the lines come from.
type Config struct {
	Path string // of a FIFO or a regular file
}

// Check lists what of the config can't be used.
func (c Config) Check() []hardware.Fault {
	if c.Path == "" {
		return []hardware.Fault{hardware.Faultf("path", "missing; write the path of a FIFO (mkfifo makes one) or a file with one control's name a line")}
	}
	return nil
}

// Open reads lines from a FIFO or a file, and tells log of those it passes
// over.
func Open(c Config, log *slog.Logger) (*hardware.Feed, error) {
	for _, f := range c.Check() {
		return nil, f
	}
	info, err := os.Stat(c.Path)
	if err != nil {
		return nil, fmt.Errorf("opening the lines: %w", err)
	}
	flags := os.O_RDONLY
	switch mode := info.Mode(); {
	case mode&os.ModeNamedPipe != 0:
		flags = os.O_RDWR | unix.O_NONBLOCK
	case !mode.IsRegular():
		return nil, fmt.Errorf("opening the lines: %s is neither a FIFO nor a regular file", c.Path)
	}
	file, err := os.OpenFile(c.Path, flags, 0)
	if err != nil {
		return nil, fmt.Errorf("opening the lines: %w", err)
	}
	log = log.With("path", c.Path)
	return hardware.NewFeed(func(ctx context.Context, send func(hardware.Press)) error {
		defer file.Close()
		defer context.AfterFunc(ctx, func() { file.SetReadDeadline(time.Unix(0, 0)) })() // ends a wait
		return watch(ctx, file, send, log)
	}), nil
}

// watch sends what is read until it ends.
func watch(ctx context.Context, in io.Reader, send func(hardware.Press), log *slog.Logger) error {
	var s splitter
	line := func(text string) {
		name := strings.TrimSpace(text)
		if name == "" {
			return
		}
		c, err := hardware.ParseControl(name)
		if err != nil {
			log.Warn("a line is passed over", "err", err)
			return
		}
		send(hardware.Press{Control: c, Time: hardware.Now()})
	}
	buf := make([]byte, 4096)
	for ctx.Err() == nil {
		n, err := in.Read(buf)
		s.feed(buf[:n], line)
		switch {
		case ctx.Err() != nil:
		case err == io.EOF:
			s.end(line)
			return io.EOF
		case err != nil:
			return fmt.Errorf("reading the lines: %w", err)
		}
	}
	return nil
}
