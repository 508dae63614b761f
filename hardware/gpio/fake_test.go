package gpio

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"evenbell/hardware"
)

// machine stands in for a kernel with GPIO chips: it answers the requests of
// the character device as gpiolib-cdev.c does (from memory), and refuses what
// that refuses. A line's request is a pipe.
type machine struct {
	system
	mu    sync.Mutex
	chips map[uint64]*fakeChip // by inode
	held  map[uint64]*fakeLine // by the inode of their pipe
}

type fakeChip struct {
	label string
	lines []*fakeLine
}

type fakeLine struct {
	*machine
	flags uint64
	level bool
	queue *os.File // where its edges are written; nil while it is free
	gone  bool
}

// newMachine has two chips: gpiochip0, "front" with 32 lines, and gpiochip1,
// "back" with 4. Lines that nobody drives are high where they are pulled up.
func newMachine(t *testing.T) *machine {
	m := &machine{chips: map[uint64]*fakeChip{}, held: map[uint64]*fakeLine{}}
	m.system = system{dev: t.TempDir(), pwm: t.TempDir(), ioctl: m.answer}
	for name, c := range map[string]*fakeChip{
		"gpiochip0": {"front", make([]*fakeLine, 32)},
		"gpiochip1": {"back", make([]*fakeLine, 4)},
	} {
		for i := range c.lines {
			c.lines[i] = &fakeLine{machine: m}
		}
		f, err := os.Create(filepath.Join(m.dev, name))
		require.NoError(t, err)
		m.chips[inode(f.Fd())] = c
		require.NoError(t, f.Close())
	}
	t.Cleanup(func() {
		for _, l := range m.held {
			l.queue.Close()
		}
	})
	return m
}

func inode(fd uintptr) uint64 {
	var s unix.Stat_t
	if err := unix.Fstat(int(fd), &s); err != nil {
		panic(err)
	}
	return s.Ino
}

// line is a line of the chip with that label.
func (m *machine) line(label string, n int) *fakeLine {
	for _, c := range m.chips {
		if c.label == label {
			return c.lines[n]
		}
	}
	panic("no chip " + label)
}

func (m *machine) answer(fd uintptr, request uint, arg unsafe.Pointer) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	ino := inode(fd)
	if chip := m.chips[ino]; chip != nil {
		switch request {
		case unix.GPIO_GET_CHIPINFO_IOCTL:
			info := (*unix.GPIOChipInfo)(arg)
			copy(info.Label[:], chip.label)
			info.Lines = uint32(len(chip.lines))
			return nil
		case unix.GPIO_V2_GET_LINE_IOCTL:
			return m.give(chip, (*unix.GPIOV2LineRequest)(arg))
		}
	}
	if l := m.held[ino]; l != nil && !l.gone {
		return l.answer(request, (*unix.GPIOV2LineValues)(arg))
	} else if l != nil {
		return unix.ENODEV
	}
	return unix.ENOTTY
}

// give answers a request for a line.
func (m *machine) give(chip *fakeChip, r *unix.GPIOV2LineRequest) error {
	if r.Num_lines != 1 || int(r.Offsets[0]) >= len(chip.lines) || r.Consumer[31] != 0 {
		return unix.EINVAL
	}
	l, c := chip.lines[r.Offsets[0]], r.Config
	if l.busy() {
		return unix.EBUSY
	}
	if err := checkFlags(c); err != nil {
		return err
	}
	var ends [2]int
	if err := unix.Pipe2(ends[:], unix.O_CLOEXEC); err != nil {
		return err
	}
	l.queue, l.flags = os.NewFile(uintptr(ends[1]), "edges"), c.Flags
	switch {
	case c.Num_attrs == 1:
		l.level = c.Attrs[0].Attr.Flags&1 == 1
	case c.Flags&flagPullUp != 0:
		l.level = true
	}
	m.held[inode(uintptr(ends[0]))] = l
	r.Fd = int32(ends[0])
	return nil
}

// checkFlags is what gpio_v2_line_flags_validate and its like refuse.
func checkFlags(c unix.GPIOV2LineConfig) error {
	const edges, pulls = flagEdgeRising | flagEdgeFalling, flagPullUp | flagPullDown | flagBiasDisabled
	in, out := c.Flags&flagInput != 0, c.Flags&flagOutput != 0
	pull := c.Flags & pulls
	switch {
	case c.Flags&^(flagInput|flagOutput|edges|pulls) != 0,
		in == out,
		c.Flags&edges != 0 && !in,
		pull&(pull-1) != 0,
		c.Num_attrs > 1,
		c.Num_attrs == 1 && (c.Attrs[0].Attr.Id != unix.GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES || c.Attrs[0].Mask != 1 || !out):
		return unix.EINVAL
	}
	return nil
}

// busy reports whether somebody has the line: its pipe has a reader.
func (l *fakeLine) busy() bool {
	if l.queue == nil {
		return false
	}
	fds := []unix.PollFd{{Fd: int32(l.queue.Fd())}}
	if _, err := unix.Poll(fds, 0); err != nil {
		panic(err)
	}
	return fds[0].Revents&unix.POLLERR == 0
}

func (l *fakeLine) answer(request uint, v *unix.GPIOV2LineValues) error {
	switch {
	case v.Mask != 1:
		return unix.EINVAL
	case request == unix.GPIO_V2_LINE_GET_VALUES_IOCTL:
		v.Bits = 0
		if l.level {
			v.Bits = 1
		}
		return nil
	case request == unix.GPIO_V2_LINE_SET_VALUES_IOCTL && l.flags&flagOutput != 0:
		l.level = v.Bits&1 == 1
		return nil
	case request == unix.GPIO_V2_LINE_SET_VALUES_IOCTL:
		return unix.EPERM
	}
	return unix.ENOTTY
}

// drive puts a level on the line at a time, and queues the edge if somebody
// asked for it.
func (l *fakeLine) drive(level bool, at time.Duration) { l.burst(change{level, at}) }

// change is a level from a time on.
type change struct {
	level bool
	at    time.Duration
}

// burst is some changes of which a program hears all at once: of what has
// happened by now, all is in the queue.
func (l *fakeLine) burst(changes ...change) {
	l.mu.Lock()
	defer l.mu.Unlock()
	var events []byte
	for _, c := range changes {
		edge, id := uint64(flagEdgeFalling), uint32(unix.GPIO_V2_LINE_EVENT_FALLING_EDGE)
		if c.level {
			edge, id = flagEdgeRising, unix.GPIO_V2_LINE_EVENT_RISING_EDGE
		}
		if l.level != c.level && l.flags&edge != 0 {
			events = binary.NativeEndian.AppendUint64(events, uint64(c.at))
			events = binary.NativeEndian.AppendUint32(events, id)
			events = append(events, make([]byte, 48-12)...) // offset, two counts, six spare words
		}
		l.level = c.level
	}
	if len(events) == 0 {
		return
	}
	if _, err := l.queue.Write(events); err != nil {
		panic(err)
	}
}

// push closes and opens a switch to ground, bouncing, and leaves time for the
// box to see that it is over.
func (l *fakeLine) push() {
	for _, level := range []bool{false, true, false} {
		l.drive(level, hardware.Now())
	}
	time.Sleep(2 * hardware.Lockout)
	l.drive(true, hardware.Now())
	time.Sleep(2 * hardware.Lockout)
}

// vanish takes the chip away: requests fail, and a wait for an edge ends.
func (l *fakeLine) vanish() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.gone = true
	l.queue.Close()
}
