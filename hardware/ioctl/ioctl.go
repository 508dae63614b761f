// Package ioctl is the one seam between the boxes and the kernel's devices: a
// request to a file, which a test answers in the kernel's place.
//
// It knows files and requests by number; what a request means is the affair of
// whoever makes it. It imports nothing of ours.
package ioctl

import (
	"os"
	"unsafe"

	"golang.org/x/sys/unix"
)

// Func makes a request to an open file. Its errors are a unix.Errno.
type Func func(fd uintptr, request uint, arg unsafe.Pointer) error

// Kernel asks the kernel.
func Kernel(fd uintptr, request uint, arg unsafe.Pointer) error {
	for {
		_, _, errno := unix.Syscall(unix.SYS_IOCTL, fd, uintptr(request), uintptr(arg))
		switch errno {
		case 0:
			return nil
		case unix.EINTR:
		default:
			return errno
		}
	}
}

// On makes a request to a file without taking it from Go's poller, as its Fd
// method would. A file that is closed gives an error that is os.ErrClosed.
func (f Func) On(file *os.File, request uint, arg unsafe.Pointer) error {
	raw, err := file.SyscallConn()
	if err != nil {
		return err
	}
	var answer error
	if err := raw.Control(func(fd uintptr) { answer = f(fd, request, arg) }); err != nil {
		return err
	}
	return answer
}
