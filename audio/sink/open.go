package sink

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
)

// opening is how long a device may take to open; the search for one never
// lasts longer than this for each kind.
const opening = 3 * time.Second

// Specs says what Open takes, for usage and error texts.
const Specs = "auto, alsa, alsa:DEVICE, pulse, silent or wav:FILE"

// silence is how a search that found nothing ends.
const silence = "no sound device: nothing will be heard"

// Open opens the sink that spec names, and says in words what it chose and
// why. auto takes an ALSA sound card if there is one, else a PulseAudio (or
// PipeWire) output, else the silent clock; that last, and a sound server that
// has but a dummy output, are reported with the words "nothing will be heard".
//
// The silent clock, and with it a WAV file, runs speed times as fast as real
// time, or with 0 as fast as it can; with any speed but 1, auto means silent.
// Open never takes longer than a few seconds. Its error says what is allowed,
// or why the device can't be had.
func Open(spec string, speed float64) (Sink, string, error) {
	if err := Check(spec, speed); err != nil {
		return nil, "", err
	}
	kind, where, named := strings.Cut(spec, ":")
	switch {
	case spec == "auto" && speed == 1:
		s, words := search()
		return s, words, nil
	case spec == "auto", spec == "silent":
		return NewSilent(speed), "the silent clock" + pace(speed) + ": nothing will be heard", nil
	case kind == "wav" && where != "":
		r, err := NewRecorder(where, speed)
		return orNil(r, err), "WAV file " + where + pace(speed) + ": nothing will be heard", err
	case spec == "pulse":
		return openPulse()
	case !named:
		where = "default"
	}
	return openALSA(where)
}

// Check says what is wrong with what Open would be asked for, without opening
// anything.
func Check(spec string, speed float64) error {
	if speed < 0 || math.IsNaN(speed) || math.IsInf(speed, 0) {
		return fmt.Errorf("speed %v: give a number above 0, or 0 for as fast as it can", speed)
	}
	kind, where, _ := strings.Cut(spec, ":")
	switch {
	case spec == "auto", spec == "silent", kind == "wav" && where != "":
		return nil
	case spec == "alsa", kind == "alsa" && where != "", spec == "pulse":
		if speed != 1 {
			return fmt.Errorf("speed %v: only the silent sink and a WAV file run at another speed than 1", speed)
		}
		return nil
	}
	return fmt.Errorf("sink %q: not known; it may be %s", spec, Specs)
}

// search finds the first device that can be heard.
func search() (Sink, string) {
	if s, words, err := openCard(); err == nil {
		return s, words
	} else if s, words, noPulse := openPulse(); noPulse == nil && !mute(s) {
		return s, fmt.Sprintf("%s (%v)", words, err)
	} else {
		if noPulse == nil {
			s.Close()
			noPulse = errors.New("PulseAudio has nothing but its dummy output")
		}
		return NewSilent(1), fmt.Sprintf("%s (%v; %v)", silence, err, noPulse)
	}
}

// openCard opens ALSA's default device where the machine has a sound card;
// without one the default is at best a detour to a sound server.
func openCard() (Sink, string, error) {
	lib, err := loadALSA()
	if err != nil {
		return nil, "", err
	}
	if !lib.hasCard() {
		return nil, "", errors.New("ALSA: no sound card")
	}
	return openALSA("default")
}

func openALSA(device string) (Sink, string, error) {
	s, err := within(opening, func() (*ALSA, error) { return NewALSA(device) })
	return orNil(s, err), "ALSA device " + device, err
}

func openPulse() (Sink, string, error) {
	s, err := within(opening, func() (*Pulse, error) { return NewPulse("") })
	if err != nil {
		return nil, "", err
	}
	words := "PulseAudio output " + s.Output()
	if mute(s) {
		words += ", a dummy: nothing will be heard"
	}
	return s, words, nil
}

// mute reports whether s is a sound server's stand-in for a missing output.
func mute(s Sink) bool {
	p, ok := s.(*Pulse)
	return ok && p.Output() == dummyOutput
}

// within opens a device, or gives up on it after d; should it open after all,
// it is let go again.
func within[S Sink](d time.Duration, open func() (S, error)) (S, error) {
	type result struct {
		sink S
		err  error
	}
	done := make(chan result)
	late := time.NewTimer(d)
	defer late.Stop()
	gaveUp := make(chan struct{})
	go func() {
		s, err := open()
		select {
		case done <- result{s, err}:
		case <-gaveUp:
			if err == nil {
				s.Close()
			}
		}
	}()
	select {
	case r := <-done:
		return r.sink, r.err
	case <-late.C:
		close(gaveUp)
		var none S
		return none, fmt.Errorf("the sound device did not answer for %v", d)
	}
}

// orNil keeps a nil pointer from becoming a Sink that is not nil.
func orNil[S Sink](s S, err error) Sink {
	if err != nil {
		return nil
	}
	return s
}

func pace(speed float64) string {
	switch speed {
	case 0:
		return " as fast as it can"
	case 1:
		return ""
	}
	return fmt.Sprintf(" at %v times real time", speed)
}
