package evdev

import (
	"encoding/binary"
	"log/slog"
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

// machine stands in for a kernel with event devices: a folder of FIFOs, and
// the answers to what is asked of them as evdev.c gives them (from memory).
type machine struct {
	system
	t    *testing.T
	mu   sync.Mutex
	pads map[uint64]*fakePad // by inode
}

type fakePad struct {
	*machine
	path    string
	name    string
	has     keys
	down    keys
	clock   int32
	grabbed bool
	wire    *os.File // the end that writes events
}

func newMachine(t *testing.T) *machine {
	m := &machine{t: t, pads: map[uint64]*fakePad{}}
	m.system = system{dir: t.TempDir(), every: 5 * time.Millisecond, ioctl: m.answer}
	return m
}

// plug makes a device appear.
func (m *machine) plug(node, name string, codes ...uint16) *fakePad {
	p := &fakePad{machine: m, path: filepath.Join(m.dir, node), name: name}
	for _, c := range codes {
		p.has.set(c, true)
	}
	hidden := filepath.Join(m.dir, "new-"+node) // it is whole when it appears
	require.NoError(m.t, unix.Mkfifo(hidden, 0o600))
	var err error
	p.wire, err = os.OpenFile(hidden, os.O_RDWR, 0)
	require.NoError(m.t, err)
	m.t.Cleanup(func() { p.wire.Close() })
	m.mu.Lock()
	m.pads[inode(p.wire.Fd())] = p
	m.mu.Unlock()
	require.NoError(m.t, os.Rename(hidden, p.path))
	return p
}

func inode(fd uintptr) uint64 {
	var s unix.Stat_t
	if err := unix.Fstat(int(fd), &s); err != nil {
		panic(err)
	}
	return s.Ino
}

// unplug takes the device away: whoever reads it comes to an end.
func (p *fakePad) unplug() {
	require.NoError(p.t, os.Remove(p.path))
	require.NoError(p.t, p.wire.Close())
}

func (k *keys) set(code uint16, on bool) {
	if k[code/8] &^= 1 << (code % 8); on {
		k[code/8] |= 1 << (code % 8)
	}
}

func (m *machine) answer(fd uintptr, request uint, arg unsafe.Pointer) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	p := m.pads[inode(fd)]
	if p == nil {
		return unix.ENOTTY
	}
	// The numbers as a C compiler makes them of linux/input.h on amd64.
	switch request {
	case 0x81004506: // EVIOCGNAME(256)
		copy(unsafe.Slice((*byte)(arg), 256), p.name+"\x00")
	case 0x80604521: // EVIOCGBIT(EV_KEY, 96)
		*(*keys)(arg) = p.has
	case 0x80604518: // EVIOCGKEY(96)
		*(*keys)(arg) = p.down
	case 0x400445a0: // EVIOCSCLOCKID
		p.clock = *(*int32)(arg)
	case 0x40044590: // EVIOCGRAB
		p.grabbed = arg != nil
	default:
		return unix.EINVAL
	}
	return nil
}

// write is an event on the wire.
func (p *fakePad) write(kind, code uint16, value int32, at time.Duration) {
	_, err := p.wire.Write(encode(event{at, kind, code, value}, word))
	require.NoError(p.t, err)
}

func encode(e event, word int) []byte {
	var b []byte
	for _, n := range []int64{int64(e.at / time.Second), int64(e.at % time.Second / time.Microsecond)} {
		if word == 4 {
			b = binary.NativeEndian.AppendUint32(b, uint32(n))
		} else {
			b = binary.NativeEndian.AppendUint64(b, uint64(n))
		}
	}
	b = binary.NativeEndian.AppendUint16(b, e.kind)
	b = binary.NativeEndian.AppendUint16(b, e.code)
	return binary.NativeEndian.AppendUint32(b, uint32(e.value))
}

// key puts a key down or up, as an event and in the state.
func (p *fakePad) key(code uint16, value int32, at time.Duration) {
	p.mu.Lock()
	p.down.set(code, value != released)
	p.mu.Unlock()
	p.write(evKey, code, value, at)
	p.write(evSyn, synReport, 0, at)
}

// push presses and releases a key as a foot does, and waits for the bounce.
func (p *fakePad) push(code uint16) {
	p.key(code, pressed, hardware.Now())
	time.Sleep(hardware.Lockout)
	p.key(code, released, hardware.Now())
	time.Sleep(hardware.Lockout)
}

// codeOf is the key of each control in these tests: a to e.
var codeOf = map[hardware.Control]int{hardware.Tap: 30, hardware.Minus: 48, hardware.Plus: 46, hardware.Hold: 32, hardware.Stop: 18}

const padName = "Quayside Five-Key Pad"

// five is a config of one pad with all controls.
func five() Config {
	of := map[hardware.Control][]int{}
	for c, code := range codeOf {
		of[c] = []int{code}
	}
	return Config{Devices: []Device{{Name: padName, Keys: of}}}
}

func quiet() *slog.Logger { return slog.New(slog.DiscardHandler) }
