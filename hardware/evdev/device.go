package evdev

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"time"
	"unsafe"

	"golang.org/x/sys/unix"

	"evenbell/hardware"
)

// The requests to an event device, from the kernel's uapi header
// linux/input.h, as most machines number them: amd64, arm and arm64 do.
const (
	write uint = 1 << 30
	read  uint = 2 << 30
	group uint = 'E' << 8

	getName    = read | nameSize<<16 | group | 0x06
	getDown    = read | keysSize<<16 | group | 0x18
	getKeys    = read | keysSize<<16 | group | (0x20 + evKey)
	grab       = write | 4<<16 | group | 0x90
	setClockID = write | 4<<16 | group | 0xa0

	nameSize = 256
	keysSize = uint(len(keys{}))
)

// device is an open event device with keys that are ours. Its goroutine alone
// uses it.
type device struct {
	box   *Box
	file  *os.File
	which int // in the config
	pad   *pad
	first []hardware.Press // what is pressed as it is plugged in
}

// open opens an event device, if it is one that the config names: nil and no
// error says that it is another's.
func (b *Box) open(path string) (*device, error) {
	file, err := os.OpenFile(path, os.O_RDONLY|unix.O_NONBLOCK, 0)
	if err != nil {
		return nil, fmt.Errorf("opening an event device: %w", err)
	}
	d, err := b.take(file)
	if d == nil {
		file.Close()
	}
	return d, err
}

// take makes an open file a device of the box, if it is one.
func (b *Box) take(file *os.File) (*device, error) {
	var name [nameSize]byte
	if err := b.sys.ioctl.On(file, getName, unsafe.Pointer(&name)); err != nil {
		return nil, fmt.Errorf("asking %s for its name: %w", file.Name(), err)
	}
	text, _, _ := bytes.Cut(name[:], []byte{0})
	which := b.config.named(string(text))
	if which < 0 {
		return nil, nil
	}
	d := &device{box: b, file: file, which: which}
	ours, err := d.prepare()
	if err != nil || !ours {
		return nil, err
	}
	held, err := d.down()
	if err != nil {
		return nil, err
	}
	d.pad, d.first = newPad(b.controls[which], held, hardware.Now())
	return d, nil
}

// prepare asks for the device's keys, and takes it if some are ours: a pedal
// may be several devices of one name.
func (d *device) prepare() (ours bool, err error) {
	var has keys
	if err := d.ask(getKeys, unsafe.Pointer(&has)); err != nil {
		return false, err
	}
	for code := range d.box.controls[d.which] {
		ours = ours || has.has(code)
	}
	if !ours {
		return false, nil
	}
	clock := int32(unix.CLOCK_MONOTONIC)
	if err := d.ask(setClockID, unsafe.Pointer(&clock)); err != nil {
		return false, err
	}
	if d.box.config.Devices[d.which].Share {
		return true, nil
	}
	return true, d.ask(grab, unsafe.Pointer(&clock)) // any address takes it, none gives it back
}

func (d *device) ask(request uint, arg unsafe.Pointer) error {
	if err := d.box.sys.ioctl.On(d.file, request, arg); err != nil {
		return fmt.Errorf("asking %s (request %#x): %w", d.file.Name(), request, err)
	}
	return nil
}

// down is which keys are down.
func (d *device) down() (held keys, err error) {
	return held, d.ask(getDown, unsafe.Pointer(&held))
}

// watch sends presses until the device is gone, and says why.
func (d *device) watch(ctx context.Context, send func(hardware.Press)) error {
	defer d.file.Close()
	defer d.box.unplug(d)
	defer context.AfterFunc(ctx, func() { d.file.SetReadDeadline(time.Unix(0, 0)) })() // ends a wait
	presses, err := d.first, error(nil)
	buf := make([]byte, 64*size(word))
	for {
		for _, p := range presses {
			send(p)
		}
		if err != nil || ctx.Err() != nil {
			return err
		}
		var n int
		if n, err = d.file.Read(buf); err == nil {
			presses, err = d.take(decode(buf[:n], word))
		} else {
			presses = nil
		}
	}
}

// take gives the presses of some events.
func (d *device) take(events []event) (presses []hardware.Press, err error) {
	d.box.mu.Lock()
	defer d.box.mu.Unlock()
	for _, e := range events {
		press, ok, reread := d.pad.take(e)
		if ok {
			presses = append(presses, press)
		}
		if !reread {
			continue
		}
		held, err := d.down()
		if err != nil {
			return presses, err
		}
		d.box.log.Warn("events were lost; the keys are read again", "device", d.file.Name())
		presses = append(presses, d.pad.state(held, e.at)...)
	}
	return presses, nil
}
