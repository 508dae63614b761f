package sink

import (
	"fmt"
	"syscall"
	"time"
)

// ALSA's numbers for what is used here, from alsa/pcm.h.
const (
	playback    = 0
	nonblocking = 1
	formatS16LE = 2
	interleaved = 3
	prepared    = 2 // a state: filled, not yet started
)

// again is the result of a call that would have to wait, and dry the one of a
// device that ran out of samples.
const (
	again = -int32(syscall.EAGAIN)
	dry   = -int32(syscall.EPIPE)
	slept = -int32(syscall.ESTRPIPE)
)

// ALSA plays through a sound card, or whatever else the machine's ALSA
// configuration calls a device. The device is opened non-blocking, and every
// wait for it is bounded.
type ALSA struct {
	lib       *libasound
	device    string
	pcm       uintptr // 0 once closed
	waiting   int     // samples taken since the device was last made ready
	cause     error   // why the device is gone, nil while it is not
	underruns int
}

// NewALSA opens a device by its ALSA name, such as "default" or "plughw:1".
func NewALSA(device string) (*ALSA, error) {
	lib, err := loadALSA()
	if err != nil {
		return nil, err
	}
	a := &ALSA{lib: lib, device: device}
	if code := lib.pcmOpen(&a.pcm, device, playback, nonblocking); code < 0 {
		return nil, lib.fault("opening ALSA device "+device, code)
	}
	code := lib.pcmParams(a.pcm, formatS16LE, interleaved, 1, Rate, 1, Buffer*1000/(Rate/1000))
	if code < 0 {
		lib.pcmClose(a.pcm)
		return nil, fmt.Errorf("%w (a raw device may need its plug, as in alsa:plughw:0)",
			lib.fault("setting ALSA device "+device+" to mono at 48 kHz", code))
	}
	return a, nil
}

// Write hands the block to the device as it makes room.
func (a *ALSA) Write(block []int16) error {
	if err := a.trouble(); err != nil {
		return err
	}
	giveUp := time.Time{}
	for len(block) > 0 {
		n := a.lib.pcmWrite(a.pcm, &block[0], uintptr(len(block)))
		if n > 0 {
			block, giveUp = block[n:], time.Time{}
			a.waiting += n
			continue
		}
		if err := a.mend(int32(n)); err != nil {
			return err
		}
		if giveUp.IsZero() {
			giveUp = time.Now().Add(Patience)
		}
		if time.Now().After(giveUp) {
			return a.lost(fmt.Errorf("it took no sound for %v", Patience))
		}
	}
	return nil
}

// mend deals with a write that took nothing: it waits a little for room,
// starts a device that ran dry or slept again, and gives up on any other.
func (a *ALSA) mend(code int32) error {
	if code == again || code == 0 {
		if code = a.lib.pcmWait(a.pcm, 100); code >= 0 {
			return nil
		}
	}
	switch code {
	case dry:
		a.underruns++
		a.waiting = 0
		if code = a.lib.pcmRecover(a.pcm, code, 1); code < 0 {
			return a.lost(a.lib.fault("starting it again", code))
		}
	case slept: // resuming takes a while; until then it says again
		a.waiting = 0
		if code = a.lib.pcmRecover(a.pcm, code, 1); code < 0 && code != again {
			return a.lost(a.lib.fault("waking it", code))
		}
	case again:
		time.Sleep(time.Millisecond)
	default:
		return a.lost(a.lib.fault("writing", code))
	}
	return nil
}

// Delay asks the device what it has yet to play. Some can't say before they
// have started, and then have all they were given; one that ran dry has
// nothing.
func (a *ALSA) Delay() (int, error) {
	if err := a.trouble(); err != nil {
		return 0, err
	}
	var frames int
	switch code := a.lib.pcmDelay(a.pcm, &frames); {
	case code == dry || code == slept:
		return 0, nil
	case code < 0 && a.lib.pcmState(a.pcm) == prepared:
		return a.waiting, nil
	case code < 0:
		return 0, a.lost(a.lib.fault("asking its delay", code))
	}
	return max(0, frames), nil
}

// Drop stops the device where it is and makes it ready again.
func (a *ALSA) Drop() (int, error) {
	n, err := a.Delay()
	if err != nil {
		return 0, err
	}
	if code := a.lib.pcmDrop(a.pcm); code < 0 {
		return 0, a.lost(a.lib.fault("silencing it", code))
	}
	if code := a.lib.pcmPrepare(a.pcm); code < 0 {
		return n, a.lost(a.lib.fault("making it ready", code))
	}
	a.waiting = 0
	return n, nil
}

// Underruns counts how often the device ran dry.
func (a *ALSA) Underruns() int { return a.underruns }

// Close plays what is left and lets the device go.
func (a *ALSA) Close() error {
	if a.pcm == 0 {
		return nil
	}
	err := a.cause
	if err == nil {
		err = a.drain()
	}
	a.lib.pcmClose(a.pcm)
	a.pcm = 0
	return err
}

// drain waits until all is played. Non-blocking as the device is, it says
// "again" until then.
func (a *ALSA) drain() error {
	for giveUp := time.Now().Add(Patience); ; time.Sleep(2 * time.Millisecond) {
		switch code := a.lib.pcmDrain(a.pcm); {
		case code >= 0 || code == dry:
			return nil
		case code != again:
			return a.lost(a.lib.fault("playing what was left", code))
		case time.Now().After(giveUp):
			return a.lost(fmt.Errorf("it did not finish within %v", Patience))
		}
	}
}

func (a *ALSA) trouble() error {
	if a.pcm == 0 {
		return errClosed
	}
	return a.cause
}

func (a *ALSA) lost(why error) error {
	a.cause = fmt.Errorf("ALSA device %s: %w: %w", a.device, ErrGone, why)
	return a.cause
}
