package gpio

import (
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"
	"unsafe"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"
)

// The flags of a line, from the kernel's uapi header linux/gpio.h.
const (
	flagInput        = 1 << 2
	flagOutput       = 1 << 3
	flagEdgeRising   = 1 << 4
	flagEdgeFalling  = 1 << 5
	flagPullUp       = 1 << 8
	flagPullDown     = 1 << 9
	flagBiasDisabled = 1 << 10
)

// consumer is the name under which the kernel shows who has a line.
const consumer = "evenbell"

// queued is how many edges of a line the kernel keeps while nobody reads:
// eight presses, each with thirty bounces.
const queued = 512

// eventSize is the size of one edge as the kernel writes it.
const eventSize = int(unsafe.Sizeof(unix.GPIOV2LineEvent{}))

// Line is one line of a chip as a periph pin. One goroutine uses it; any may
// call Halt.
type Line struct {
	sys    system
	chip   string
	offset int

	pull  gpio.Pull
	out   bool
	level gpio.Level    // after the last edge
	at    time.Duration // of the last edge

	mu   sync.Mutex
	file *os.File // the request; nil while there is none
	err  error
}

// In asks for the line as an input, and for its edges.
func (l *Line) In(pull gpio.Pull, edge gpio.Edge) error {
	flags := uint64(flagInput)
	flags |= map[gpio.Pull]uint64{gpio.Float: flagBiasDisabled, gpio.PullUp: flagPullUp, gpio.PullDown: flagPullDown}[pull]
	if edge == gpio.RisingEdge || edge == gpio.BothEdges {
		flags |= flagEdgeRising
	}
	if edge == gpio.FallingEdge || edge == gpio.BothEdges {
		flags |= flagEdgeFalling
	}
	l.pull, l.out = pull, false
	return l.request(unix.GPIOV2LineConfig{Flags: flags})
}

// Out asks for the line as an output of that level, or sets it.
func (l *Line) Out(level gpio.Level) error {
	values := unix.GPIOV2LineValues{Bits: bit(level), Mask: 1}
	if l.out {
		return l.control(unix.GPIO_V2_LINE_SET_VALUES_IOCTL, unsafe.Pointer(&values))
	}
	config := unix.GPIOV2LineConfig{Flags: flagOutput, Num_attrs: 1}
	config.Attrs[0].Mask = values.Mask
	config.Attrs[0].Attr = unix.GPIOV2LineAttribute{Id: unix.GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES, Flags: values.Bits}
	err := l.request(config)
	l.out = err == nil
	return err
}

func bit(level gpio.Level) uint64 {
	if level {
		return 1
	}
	return 0
}

// request gives up what request there was and makes a new one.
func (l *Line) request(config unix.GPIOV2LineConfig) error {
	if err := l.release(); err != nil {
		return err
	}
	chip, err := l.sys.open(l.chip, l.offset)
	if err != nil {
		return err
	}
	defer chip.Close()
	r := unix.GPIOV2LineRequest{Config: config, Num_lines: 1}
	r.Offsets[0] = uint32(l.offset)
	copy(r.Consumer[:], consumer)
	if config.Flags&(flagEdgeRising|flagEdgeFalling) != 0 {
		r.Event_buffer_size = queued
	}
	err = l.sys.ioctl.On(chip, unix.GPIO_V2_GET_LINE_IOCTL, unsafe.Pointer(&r))
	if errors.Is(err, unix.EBUSY) {
		return fmt.Errorf("line %d of %s is taken by another program or driver: %w", l.offset, l.chip, err)
	}
	if err == nil {
		err = unix.SetNonblock(int(r.Fd), true) // for Go's poller
	}
	if err != nil {
		return fmt.Errorf("asking for line %d of %s: %w", l.offset, l.chip, err)
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.file, l.err = os.NewFile(uintptr(r.Fd), l.Name()), nil
	return nil
}

// Halt gives the line back to the kernel, and ends a wait for an edge. An
// output mostly keeps its level.
func (l *Line) Halt() error { return l.release() }

func (l *Line) release() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.file == nil {
		return nil
	}
	err := l.file.Close()
	l.file = nil
	return err
}

// handle is the request of the line, or an error where there is none.
func (l *Line) handle() (*os.File, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.file == nil {
		return nil, cmp.Or(l.err, os.ErrClosed)
	}
	return l.file, nil
}

func (l *Line) control(request uint, arg unsafe.Pointer) error {
	file, err := l.handle()
	if err != nil {
		return err
	}
	return l.sys.ioctl.On(file, request, arg)
}

// Read is the level of the line; Low, and an error from Err, where it can't be
// read.
func (l *Line) Read() gpio.Level {
	values := unix.GPIOV2LineValues{Mask: 1}
	if err := l.control(unix.GPIO_V2_LINE_GET_VALUES_IOCTL, unsafe.Pointer(&values)); err != nil {
		l.fail(err)
		return gpio.Low
	}
	return values.Bits&1 == 1
}

// WaitForEdge waits for the next edge, or takes the oldest that waits. A
// negative timeout is for ever. Where it returns false none was waiting.
func (l *Line) WaitForEdge(timeout time.Duration) bool {
	file, err := l.handle()
	if err != nil {
		return false
	}
	deadline := time.Time{}
	if timeout >= 0 {
		deadline = time.Now().Add(timeout)
	}
	event := make([]byte, eventSize)
	if err = file.SetReadDeadline(deadline); err == nil {
		_, err = file.Read(event)
	}
	if errors.Is(err, os.ErrDeadlineExceeded) { // one that came before it counts all the same
		err = atOnce(file, event)
	}
	switch {
	case err == nil:
		l.note(event)
		return true
	case !errors.Is(err, unix.EAGAIN):
		l.fail(err)
	}
	return false
}

// atOnce reads without waiting: EAGAIN says that there is nothing.
func atOnce(file *os.File, b []byte) (err error) {
	raw, fault := file.SyscallConn()
	if fault != nil {
		return fault
	}
	fault = raw.Control(func(fd uintptr) { _, err = unix.Read(int(fd), b) })
	return errors.Join(fault, err)
}

// note keeps an edge as the kernel wrote it.
func (l *Line) note(event []byte) {
	l.at = time.Duration(binary.NativeEndian.Uint64(event[unsafe.Offsetof(unix.GPIOV2LineEvent{}.Timestamp_ns):]))
	l.level = binary.NativeEndian.Uint32(event[unsafe.Offsetof(unix.GPIOV2LineEvent{}.Id):]) == unix.GPIO_V2_LINE_EVENT_RISING_EDGE
}

// fail keeps what broke the line; giving it back is no fault.
func (l *Line) fail(err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.file != nil && l.err == nil {
		l.err = err
	}
}

// Edge is the level after the last edge and its time, of CLOCK_MONOTONIC.
func (l *Line) Edge() (gpio.Level, time.Duration) { return l.level, l.at }

// Err is what broke the line.
func (l *Line) Err() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.err
}

// Name is the chip and the line: "gpiochip0 line 17".
func (l *Line) Name() string { return fmt.Sprintf("%s line %d", l.chip, l.offset) }

// String is the name.
func (l *Line) String() string { return l.Name() }

// Number is the line on its chip.
func (l *Line) Number() int { return l.offset }

// Function is "in", "out", or empty while the line is nobody's.
func (l *Line) Function() string {
	if _, err := l.handle(); err != nil {
		return ""
	}
	if l.out {
		return "out"
	}
	return "in"
}

// Pull is what In was told.
func (l *Line) Pull() gpio.Pull { return l.pull }

// DefaultPull is not known.
func (l *Line) DefaultPull() gpio.Pull { return gpio.PullNoChange }

// PWM is not to be had: a line has no pulses.
func (l *Line) PWM(gpio.Duty, physic.Frequency) error {
	return fmt.Errorf("%s is a line and has no pulses; a PWM channel has", l.Name())
}
