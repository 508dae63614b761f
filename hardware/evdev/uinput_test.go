package evdev

import (
	"os"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"evenbell/hardware"
	"evenbell/hardware/boxtest"
	"evenbell/hardware/ioctl"
)

// The requests to the kernel's maker of input devices, from its uapi header
// linux/uinput.h (their numbers from memory; a wrong one fails here).
const (
	uiSetEvBit   uint = 0x40045564
	uiSetKeyBit  uint = 0x40045565
	uiDevSetup   uint = 0x405c5503
	uiDevCreate  uint = 0x5501
	uiDevDestroy uint = 0x5502
)

// realPad is a device of this kernel with the keys of five.
type realPad struct {
	t    *testing.T
	file *os.File
}

// plugReal makes a device, or skips the test on a kernel that can't.
func plugReal(t *testing.T) *realPad {
	file, err := os.OpenFile("/dev/uinput", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("this kernel lends no input devices: " + err.Error())
	}
	p := &realPad{t, file}
	p.ask(uiSetEvBit, evKey)
	for _, code := range all() {
		p.ask(uiSetKeyBit, uintptr(code))
	}
	setup := struct {
		id   [4]uint16
		name [80]byte
		ff   uint32
	}{id: [4]uint16{3, 1, 1, 1}}
	copy(setup.name[:], padName)
	require.NoError(t, ioctl.Func(ioctl.Kernel).On(file, uiDevSetup, unsafe.Pointer(&setup)))
	p.ask(uiDevCreate, 0)
	t.Cleanup(func() { file.Close() })
	return p
}

// ask makes a request whose argument is a number.
func (p *realPad) ask(request uint, n uintptr) {
	_, _, errno := unix.Syscall(unix.SYS_IOCTL, p.file.Fd(), uintptr(request), n)
	require.Zero(p.t, errno)
}

func (p *realPad) key(code int, value int32) {
	events := append(encode(event{0, evKey, uint16(code), value}, word), encode(event{0, evSyn, synReport, 0}, word)...)
	_, err := p.file.Write(events)
	require.NoError(p.t, err)
}

func (p *realPad) push(c hardware.Control) {
	p.key(codeOf[c], pressed)
	time.Sleep(hardware.Lockout)
	p.key(codeOf[c], released)
	time.Sleep(hardware.Lockout)
}

// openReal is a box that has found the device.
func openReal(t *testing.T) *Box {
	box, err := Open(five(), quiet())
	require.NoError(t, err)
	t.Cleanup(func() { box.Close() })
	require.Eventually(t, func() bool { return len(box.Missing()) == 0 }, 10*time.Second, ms)
	return box
}

func TestARealDeviceKeepsTheContract(t *testing.T) {
	boxtest.Contract(t, func(t *testing.T) boxtest.Rig {
		pad := plugReal(t)
		return boxtest.Rig{Box: openReal(t), Press: pad.push}
	})
}

func TestARealDeviceComesAndGoes(t *testing.T) {
	var box *Box
	for range 3 {
		pad := plugReal(t)
		if box == nil {
			box = openReal(t)
		}
		require.Eventually(t, func() bool { return len(box.Missing()) == 0 }, 10*time.Second, ms)
		before := hardware.Now()
		pad.push(hardware.Stop)
		p := next(t, box)
		assert.Equal(t, hardware.Stop, p.Control)
		assert.GreaterOrEqual(t, p.Time, before.Truncate(time.Microsecond), "the kernel's own time, in microseconds")
		assert.LessOrEqual(t, p.Time, before+hardware.Lockout)
		for d := range box.plugged {
			other, err := os.Open(d.file.Name())
			require.NoError(t, err)
			assert.ErrorIs(t, ioctl.Func(ioctl.Kernel).On(other, grab, unsafe.Pointer(&before)), unix.EBUSY, "it is ours alone")
			require.NoError(t, other.Close())
		}
		pad.ask(uiDevDestroy, 0)
		require.Eventually(t, func() bool { return len(box.Missing()) == 5 }, 10*time.Second, ms)
	}
}

func TestARealDeviceThatSaysTooMuch(t *testing.T) {
	pad := plugReal(t)
	box := openReal(t)
	for range 200 { // nobody receives: the box fills up, then the kernel's queue
		pad.key(codeOf[hardware.Tap], pressed)
		time.Sleep(hardware.Lockout / 2)
		pad.key(codeOf[hardware.Tap], released)
		time.Sleep(hardware.Lockout / 2)
	}
	pad.key(codeOf[hardware.Stop], pressed)
	for p := next(t, box); p.Control != hardware.Stop; p = next(t, box) {
		assert.Equal(t, hardware.Tap, p.Control)
	}
}
