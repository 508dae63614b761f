package evdev

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"evenbell/hardware"
	"evenbell/hardware/ioctl"
)

// system is where the devices are.
type system struct {
	dir   string        // the folder of the event devices
	every time.Duration // how often it is looked through
	ioctl ioctl.Func
}

// kernel is the machine that the program runs on.
var kernel = system{dir: "/dev/input", every: 500 * time.Millisecond, ioctl: ioctl.Kernel}

// Box is pedals and pads as a button box.
type Box struct {
	*hardware.Feed
	sys      system
	config   Config
	controls []map[uint16]hardware.Control // of each device of the config
	log      *slog.Logger

	mu      sync.Mutex
	plugged map[*device]bool
}

// Open looks for the devices of a box, and goes on looking for what is not
// plugged in. It tells log what comes, what goes and what can't be used.
func Open(c Config, log *slog.Logger) (*Box, error) { return kernel.box(c, log) }

func (s system) box(c Config, log *slog.Logger) (*Box, error) {
	var faults []error
	for _, f := range c.Check() {
		faults = append(faults, f)
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	b := &Box{sys: s, config: c, controls: c.controls(), log: log, plugged: map[*device]bool{}}
	looking := &search{box: b, known: map[string]os.FileInfo{}, open: map[string]bool{}, told: map[string]string{}}
	found := looking.round() // before anyone asks what is missing
	b.Feed = hardware.NewFeed(func(ctx context.Context, send func(hardware.Press)) error {
		return looking.watch(ctx, send, found)
	})
	return b, nil
}

func (b *Box) plug(d *device) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.plugged[d] = true
	b.log.Info("a device is plugged in", "name", b.config.Devices[d.which].Name, "device", d.file.Name())
}

func (b *Box) unplug(d *device) {
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.plugged, d)
}

// Missing lists the controls with no key on any device that is plugged in.
func (b *Box) Missing() []hardware.Control {
	b.mu.Lock()
	defer b.mu.Unlock()
	missing := map[hardware.Control]bool{}
	for _, c := range hardware.Controls {
		missing[c] = true
	}
	for d := range b.plugged {
		for _, c := range b.controls[d.which] {
			delete(missing, c)
		}
	}
	return hardware.InOrder(missing)
}

// Stuck lists the controls with a key that has been down for
// hardware.StuckAfter or longer.
func (b *Box) Stuck() []hardware.Control {
	b.mu.Lock()
	defer b.mu.Unlock()
	set := map[hardware.Control]bool{}
	for d := range b.plugged {
		d.pad.stuck(hardware.Now(), set)
	}
	return hardware.InOrder(set)
}

// search looks for devices. Its goroutine alone uses it.
type search struct {
	box   *Box
	known map[string]os.FileInfo // by path: looked at, and another's
	open  map[string]bool        // by path: ours
	told  map[string]string      // by path: the fault that was logged last
}

// watch looks for devices every now and then, and watches those it finds. It
// ends when they have.
func (s *search) watch(ctx context.Context, send func(hardware.Press), found []*device) error {
	var running sync.WaitGroup
	defer running.Wait()
	gone := make(chan string)
	begin := func(d *device) {
		running.Go(func() {
			err := d.watch(ctx, send)
			if ctx.Err() == nil {
				s.box.log.Warn("a device is gone", "name", s.box.config.Devices[d.which].Name, "device", d.file.Name(), "err", err)
			}
			select {
			case gone <- d.file.Name():
			case <-ctx.Done():
			}
		})
	}
	look := time.NewTicker(s.box.sys.every)
	defer look.Stop()
	for {
		for _, d := range found {
			begin(d)
		}
		found = nil
		select {
		case path := <-gone:
			delete(s.open, path)
		case <-look.C:
			found = s.round()
		case <-ctx.Done():
			return nil
		}
	}
}

// round opens the devices that are ours and not open yet.
func (s *search) round() (found []*device) {
	paths, _ := filepath.Glob(filepath.Join(s.box.sys.dir, "event*")) // fails on a bad pattern only
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil || s.open[path] || s.known[path] != nil && os.SameFile(info, s.known[path]) {
			continue
		}
		d, err := s.box.open(path)
		switch {
		case err != nil:
			s.tell(path, err)
			continue // and try again: its rights may still be coming
		case d == nil:
			s.known[path] = info
		default:
			s.open[path] = true
			s.box.plug(d)
			found = append(found, d)
		}
		delete(s.told, path)
	}
	return found
}

// tell logs a fault once.
func (s *search) tell(path string, err error) {
	if s.told[path] != err.Error() {
		s.told[path] = err.Error()
		s.box.log.Warn("an event device can't be used", "err", err)
	}
}
