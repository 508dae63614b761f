package player_test

import (
	"context"
	"math/rand/v2"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio"
	"evenbell/audio/sink"
	"evenbell/coach"
)

// distant is a device whose sound takes a while to the ear, and says so: it
// plays a little faster or slower than it should, takes its samples in whole
// periods of 5 to 12 ms, tells its delay late, and keeps its writer waiting.
type distant struct {
	speed   float64 // of its crystal
	lag     int     // samples on the way to the ear beyond what it has taken
	dice    *rand.Rand
	began   time.Time
	written int64
	told    int64 // what it had taken when it last looked
	look    time.Time
}

// hears is the sample that reaches the ear at a moment.
func (d *distant) hears(t time.Time) int64 {
	if d.began.IsZero() {
		return 0
	}
	return min(d.written, max(0, int64(t.Sub(d.began).Seconds()*audio.Rate*d.speed)-int64(d.lag)))
}

func (d *distant) Write(block []int16) error {
	if d.began.IsZero() {
		d.began = time.Now()
	}
	d.written += int64(len(block))
	for d.written-d.hears(time.Now()) > int64(d.lag+sink.Buffer) {
		time.Sleep(time.Millisecond)
	}
	if d.dice.IntN(20) == 0 { // the machine is busy
		time.Sleep(time.Duration(d.dice.IntN(25)) * time.Millisecond)
	}
	return nil
}

// Delay is told as of the device's last look, up to a period ago.
func (d *distant) Delay() (int, error) {
	if now := time.Now(); !now.Before(d.look) {
		d.told = d.hears(now)
		d.look = now.Add(time.Duration(5+d.dice.IntN(8)) * time.Millisecond)
	}
	return int(d.written - d.told), nil
}

func (d *distant) Drop() (int, error) {
	n := d.written - d.hears(time.Now())
	d.written -= n
	d.began = time.Time{}
	return int(n), nil
}

func (d *distant) Close() error { return nil }

// On a device that tells its delay, what was being heard when a contact closed
// is known to 10 ms, however far the device is from the ear, however its
// crystal runs, and however it takes its samples: a press's sample, and the
// distance of a tap from its cue.
func TestTapsLandWhereTheyWereHeard(t *testing.T) {
	for name, d := range map[string]distant{
		"near":              {speed: 1},
		"far":               {speed: 1, lag: 48 * 120},
		"a quick crystal":   {speed: 1.0004, lag: 48 * 40},
		"a slow crystal":    {speed: 0.9996, lag: 48 * 40},
		"a sound server's":  {speed: 1.0001, lag: 48 * 75},
		"farther than most": {speed: 0.9999, lag: 48 * 300},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				d.dice = rand.New(rand.NewPCG(1, 2))
				cfg := config(t)
				s := begin(cfg)
				s.live.Open = func() (sink.Sink, string, error) { return &d, "distant", nil }
				var truth []int64
				ctx, leave := context.WithCancel(t.Context())
				require.NoError(t, s.run(ctx, func() {
					for time.Since(s.began) < 170*time.Second {
						time.Sleep(time.Duration(300+d.dice.IntN(1500)) * time.Millisecond)
						truth = append(truth, d.hears(time.Now()))
						s.press(coach.Tap)
					}
					time.Sleep(time.Second)
					leave()
				}))
				checkTaps(t, s, truth)
			})
		})
	}
}

func checkTaps(t *testing.T, s *stage, truth []int64) {
	const most = audio.Rate / 100
	worst, n, taps := int64(0), 0, 0
	for _, e := range s.log {
		switch d := e.Data.(type) {
		case *coach.PressData:
			if d.Heard == d.At {
				continue // the willing patient's own, who presses on the sample
			}
			off := int64(d.Heard) - truth[n]
			n++
			assert.LessOrEqual(t, max(off, -off), int64(most), "press %d", n)
			worst = max(worst, off, -off)
		case *coach.RepData:
			if d.Confirmed {
				taps++
				assert.InDelta(t, nearestMovement(s.cues, truth, *d.TapSample), float64(*d.OffMS), 10, "the tap of repetition %d", e.Rep)
			}
		}
	}
	require.Equal(t, len(truth), n, "every press is logged")
	require.GreaterOrEqual(t, taps, 5)
	t.Logf("%d presses, at most %.2f ms off; %d taps", n, float64(worst)/48, taps)
}

// nearestMovement is how many milliseconds after a movement the press was
// truly made that was logged as made at a sample.
func nearestMovement(cues []coach.Cue, truth []int64, logged coach.Samples) float64 {
	at := truth[0]
	for _, v := range truth {
		if d, before := v-int64(logged), at-int64(logged); max(d, -d) < max(before, -before) {
			at = v
		}
	}
	off := int64(1) << 60
	for _, c := range cues {
		if c.Kind == coach.CueLift || c.Kind == coach.CueLower {
			if d := at - int64(c.At); max(d, -d) < max(off, -off) {
				off = d
			}
		}
	}
	return float64(off) / 48
}
