package station

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"evenbell/audio"
	"evenbell/audio/clock"
	"evenbell/audio/sink"
	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/hardware"
)

// Finding is what a self-test found of one part.
type Finding struct {
	Part   string
	OK     bool
	Detail string
}

// String is one line: the part, how it is, and the detail.
func (f Finding) String() string {
	how := "ok"
	if !f.OK {
		how = "FAILED"
	}
	return fmt.Sprintf("%-8s %-7s %s", f.Part, how, f.Detail)
}

// toPress is how long a person has for each control in a self-test.
const toPress = 15 * time.Second

// SelfTest tries the parts of a station one after the other with a person
// beside it: the speaker, each button pressed in turn, the lamps, the disk,
// the clock, the link. prompt tells the person what to do; each finding is
// told as soon as it is made.
func (c *Config) SelfTest(ctx context.Context, box hardware.Box, lamps hardware.Lamps, prompt func(string), tell func(Finding)) (passed bool) {
	passed = true
	for _, test := range []func() Finding{
		c.testSpeaker,
		func() Finding { return testButtons(ctx, box, prompt) },
		func() Finding { return testLamps(lamps, prompt) },
		c.testDisk, testClock, func() Finding { return c.testLink(ctx) },
	} {
		f := test()
		passed = passed && f.OK
		tell(f)
	}
	return passed
}

// testSpeaker plays a second of sound, and says how well its position is known.
func (c *Config) testSpeaker() Finding {
	f := Finding{Part: "speaker"}
	s, words, err := sink.Open(c.Sink, c.Speed)
	if err != nil {
		f.Detail = err.Error()
		return f
	}
	residual, err := playTone(s, c.Speed)
	if err = errors.Join(err, s.Close()); err != nil {
		f.Detail = err.Error()
		return f
	}
	f.OK = !strings.Contains(words, "nothing will be heard") || c.Sink != "auto"
	f.Detail = fmt.Sprintf("%s; a tone was played; its position is known to %.1f ms", words, float64(residual.Microseconds())/1000)
	return f
}

func playTone(s sink.Sink, speed float64) (time.Duration, error) {
	var mix audio.Mixer
	for i, hz := range []float64{440, 659} {
		mix.Note(int64(i)*audio.Rate/2, audio.Note{Timbre: audio.NewTimbre(1, 0.3, 0.1), From: hz, To: hz,
			Length: audio.Rate / 2, Gain: 0.25, Attack: 240, Release: 2400, Sustain: 1})
	}
	heard := clock.New(speed * audio.Rate)
	buf, pcm := make([]float32, 480), make([]int16, 480)
	for mix.Pos() < audio.Rate*3/2 {
		mix.Mix(buf)
		audio.PCM(pcm, buf)
		if err := s.Write(pcm); err != nil {
			return 0, err
		}
		delay, err := s.Delay()
		if err != nil {
			return 0, err
		}
		heard.Add(hardware.Now(), mix.Pos(), int64(delay))
	}
	return heard.Residual(), nil
}

// testButtons waits for each control in turn.
func testButtons(ctx context.Context, box hardware.Box, prompt func(string)) Finding {
	f := Finding{Part: "buttons", OK: true}
	var heard, missed []string
	for _, b := range coach.Buttons {
		prompt(fmt.Sprintf("Press %s.", b))
		if pressed(ctx, box, hardware.Control(b)) {
			heard = append(heard, string(b))
		} else {
			missed = append(missed, string(b))
		}
	}
	f.Detail = "heard " + strings.Join(heard, ", ")
	if len(missed) > 0 {
		f.OK, f.Detail = false, "not heard: "+strings.Join(missed, ", ")
		if err := box.Err(); err != nil {
			f.Detail += " (" + err.Error() + ")"
		}
	}
	if stuck := hardware.Stuck(box); len(stuck) > 0 {
		f.OK, f.Detail = false, f.Detail+fmt.Sprintf("; stuck: %v", stuck)
	}
	return f
}

// pressed waits for one control; others are passed over.
func pressed(ctx context.Context, box hardware.Box, want hardware.Control) bool {
	late := time.NewTimer(toPress)
	defer late.Stop()
	for {
		select {
		case p, ok := <-box.Presses():
			if !ok {
				return false
			}
			if p.Control == want {
				return true
			}
		case <-late.C:
			return false
		case <-ctx.Done():
			return false
		}
	}
}

// testLamps lights each lamp for a second.
func testLamps(lamps hardware.Lamps, prompt func(string)) Finding {
	f := Finding{Part: "lamps", OK: true, Detail: "none are configured"}
	if lamps == nil {
		return f
	}
	for _, l := range []hardware.Lamp{hardware.PaceLamp, hardware.StopLamp} {
		prompt(fmt.Sprintf("Look at the %s lamp: it lights for a second.", l))
		err := lamps.Set(l, hardware.Full)
		time.Sleep(time.Second)
		if err = errors.Join(err, lamps.Set(l, 0)); err != nil {
			return Finding{Part: "lamps", Detail: err.Error()}
		}
	}
	f.Detail = "both were lit; whether they shone is for you to say"
	return f
}

// testDisk writes and syncs a file beside the log, and says how long the room
// lasts.
func (c *Config) testDisk() Finding {
	f := Finding{Part: "disk"}
	began := time.Now()
	if err := writeSynced(c.Data); err != nil {
		f.Detail = err.Error()
		return f
	}
	took := time.Since(began)
	f.OK, f.Detail = true, fmt.Sprintf("a synced write took %.1f ms", float64(took.Microseconds())/1000)
	r, err := journal.OpenReader(c.Data)
	if errors.Is(err, journal.ErrNoLog) {
		f.Detail += "; no log here yet"
		return f
	}
	if err != nil {
		return Finding{Part: "disk", Detail: err.Error()}
	}
	defer r.Close()
	space, err := r.Space()
	if err != nil {
		return Finding{Part: "disk", Detail: err.Error()}
	}
	f.OK = space.WholeSession()
	f.Detail += fmt.Sprintf("; room for %d days", space.DaysLeft())
	return f
}

func writeSynced(dir string) (err error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	file, err := os.CreateTemp(dir, "selftest-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.Remove(filepath.Clean(file.Name()))) }()
	_, err = file.Write(make([]byte, 4096))
	return errors.Join(err, file.Sync(), file.Close())
}

// testClock says whether the wall clock is believed. A station works without:
// the desk finds the true times.
func testClock() Finding {
	now := journal.SystemClock{}.Now()
	if !now.Trusted {
		return Finding{"clock", true, "not set; entries carry no wall time until it is"}
	}
	return Finding{"clock", true, now.Wall.UTC().Format(time.RFC3339)}
}

// testLink asks the desk whether it knows this device.
func (c *Config) testLink(ctx context.Context) Finding {
	if c.DeskURL == "" {
		return Finding{"link", true, "no desk is configured; the log stays here until it is carried out"}
	}
	name, took, err := link.Try(ctx, c.DeskURL, c.Data)
	if err != nil {
		return Finding{"link", false, err.Error()}
	}
	return Finding{"link", true, fmt.Sprintf("%s knows this device as %s; it answered in %.1f ms", c.DeskURL, name, float64(took.Microseconds())/1000)}
}
