package player_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"evenbell/audio"
	"evenbell/audio/sink"
	"evenbell/coach"
	"evenbell/coach/player"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// stage is a live session in virtual time, on a silent device. It must be
// made inside a synctest bubble.
type stage struct {
	live    *player.Live
	presses chan player.Pressed
	began   time.Time
	device  *shaky
	done    chan error

	pcm    []int16
	cues   []coach.Cue
	log    []coach.Entry
	notes  []player.Note
	events []player.Event
}

// shaky is a silent device that can vanish and come back.
type shaky struct {
	sink.Sink
	gone bool
}

func (s *shaky) Write(b []int16) error {
	if s.gone {
		return fmt.Errorf("pulling the plug: %w", sink.ErrGone)
	}
	return s.Sink.Write(b)
}

func (s *shaky) Drop() (int, error) {
	if s.gone {
		return 0, sink.ErrGone
	}
	return s.Sink.Drop()
}

func (s *shaky) Delay() (int, error) {
	if s.gone {
		return 0, sink.ErrGone
	}
	return s.Sink.Delay()
}

func begin(cfg player.Config) *stage {
	cfg.Live = true
	s := &stage{presses: make(chan player.Pressed, 64), began: time.Now(), done: make(chan error, 1)}
	s.live = &player.Live{Player: player.New(cfg), Presses: s.presses, Speed: 1, Feed: player.NewFeed(), Record: true,
		Now: func() time.Duration { return time.Since(s.began) },
		Open: func() (sink.Sink, string, error) {
			if s.device != nil && s.device.gone {
				return nil, "", errors.New("still no device")
			}
			s.device = &shaky{Sink: sink.NewSilent(1)}
			return s.device, "silent", nil
		}}
	return s
}

// run plays to the end, calling hand on a goroutine that presses.
func (s *stage) run(ctx context.Context, hand func()) error {
	go func() { s.done <- s.live.Run(ctx) }()
	go hand()
	for range s.live.Feed.More() {
		es, more := s.live.Feed.Next()
		for _, e := range es {
			s.pcm = append(s.pcm, e.PCM...)
			s.cues, s.log = append(s.cues, e.Cues...), append(s.log, e.Entries...)
			if e.Note != (player.Note{}) {
				s.notes = append(s.notes, e.Note)
			} else {
				s.events = append(s.events, e)
			}
		}
		if !more {
			break
		}
	}
	return <-s.done
}

func (s *stage) press(b coach.Button) {
	s.presses <- player.Pressed{Button: b, Time: time.Since(s.began)}
}

// replays renders the logged presses offline and compares. Where a stop or
// hold took sound back, the limiter had already seen what was taken back: the
// last samples before it, as many as the limiter looks ahead, may differ if
// the limiter was at work.
func (s *stage) replays(t *testing.T, cfg player.Config) {
	t.Helper()
	cfg.Presses = logged(s.log)
	pcm, h := render(cfg, 4096)
	require.Equal(t, h.Cues, s.cues)
	require.Equal(t, h.Entries, s.log)
	require.Len(t, s.pcm, len(pcm))
	seam := map[int]bool{}
	for _, p := range cfg.Presses {
		if p.Button == coach.Stop || p.Button == coach.Hold {
			for i := max(0, int(p.At)-audio.Lookahead); i < int(p.At); i++ {
				seam[i] = true
			}
		}
	}
	for i := range pcm {
		if pcm[i] != s.pcm[i] && !seam[i] {
			t.Fatalf("sample %d was heard as %d and replayed as %d", i, s.pcm[i], pcm[i])
		}
	}
}

// What a live session logged, rendered offline, gives the same cues, entries
// and samples, whatever was pressed and whenever: holds and stops in the
// middle of sound, several controls within a block, volume at its loudest.
func TestLiveIsOffline(t *testing.T) {
	for seed := range uint64(4) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := rand.New(rand.NewPCG(seed, 1))
				cfg := config(t)
				s := begin(cfg)
				ctx, cancel := context.WithCancel(t.Context())
				defer cancel()
				require.NoError(t, s.run(ctx, func() { s.hands(ctx, r, seed%3 == 0) }))
				cancel()
				assert.Greater(t, len(logged(s.log)), 12)
				s.replays(t, withoutPatient(cfg))
			})
		})
	}
}

// hands press at random; now and then several controls at once.
func (s *stage) hands(ctx context.Context, r *rand.Rand, stops bool) {
	for n := 0; ; n++ {
		select {
		case <-ctx.Done():
			return
		case <-time.After(time.Duration(r.Float64() * float64(8*time.Second))):
		}
		if stops && n > 20 && r.IntN(10) == 0 {
			s.press(coach.Stop)
		}
		for range 1 + r.IntN(3)/2*r.IntN(3) {
			s.press([]coach.Button{coach.Tap, coach.Plus, coach.Plus, coach.Hold, coach.Hold}[r.IntN(5)])
			time.Sleep(time.Duration(r.IntN(4)) * time.Millisecond)
		}
	}
}

// Presses before the first block, and two in one block, are all logged in the
// order they came and replay alike.
func TestPressesTakenBackAreNotLost(t *testing.T) {
	for name, c := range map[string]struct {
		after time.Duration
		press []coach.Button
	}{
		"stop before the first block":      {0, []coach.Button{coach.Stop}},
		"hold, stop before the first":      {0, []coach.Button{coach.Hold, coach.Stop}},
		"tap, then stop, in one block":     {30 * time.Second, []coach.Button{coach.Tap, coach.Stop}},
		"tap, plus, hold, hold, then stop": {50 * time.Second, []coach.Button{coach.Tap, coach.Plus, coach.Hold, coach.Hold, coach.Stop}},
		"stop, then tap":                   {70 * time.Second, []coach.Button{coach.Stop, coach.Tap, coach.Tap}},
	} {
		for _, gap := range []time.Duration{0, time.Millisecond, 12 * time.Millisecond, 31 * time.Millisecond} {
			t.Run(fmt.Sprint(name, " ", gap), func(t *testing.T) {
				synctest.Test(t, func(t *testing.T) {
					cfg := config(t)
					s := begin(cfg)
					pressAll := func() {
						for _, b := range c.press {
							s.press(b)
							time.Sleep(gap)
						}
					}
					if c.after == 0 && gap == 0 {
						pressAll()
						pressAll = func() {}
					}
					require.NoError(t, s.run(t.Context(), func() { time.Sleep(c.after); pressAll() }))
					rest := c.press
					for _, p := range logged(s.log) {
						if len(rest) > 0 && p.Button == rest[0] && p.At > coach.SessionRate.At(c.after-100*time.Millisecond) {
							rest = rest[1:]
						}
					}
					assert.Empty(t, rest, "not logged, in this order")
					s.replays(t, withoutPatient(cfg))
				})
			})
		}
	}
}

// withoutPatient answers nothing, for replaying a log that has all presses.
func withoutPatient(cfg player.Config) player.Config { cfg.Patient = player.Absent; return cfg }

// A stop takes effect at the sample the device had come to, not after what it
// still holds.
func TestStopActsWhereTheSoundIs(t *testing.T) {
	for i := range 16 {
		synctest.Test(t, func(t *testing.T) {
			cfg := config(t)
			s := begin(cfg)
			at := 20*time.Second + time.Duration(i)*4441*time.Millisecond
			require.NoError(t, s.run(t.Context(), func() { time.Sleep(at); s.press(coach.Stop) }))
			for _, p := range logged(s.log) {
				if p.Button == coach.Stop {
					assert.InDelta(t, float64(coach.SessionRate.At(at)), float64(p.At), 480+1, "at most a block late")
					assert.LessOrEqual(t, p.Heard, p.At)
				}
			}
		})
	}
}

// A device that vanishes in mid-set: it is told at once, the session holds at
// the sample it had come to, what is pressed meanwhile is logged at once, and
// after the device is back, hold goes on with the repetition broken off.
func TestDeviceVanishesInMidSet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := config(t)
		s := begin(cfg)
		require.NoError(t, s.run(t.Context(), func() {
			for !inRep(s.live.Feed, s, 2) {
				time.Sleep(100 * time.Millisecond)
			}
			s.device.gone = true
			time.Sleep(4 * time.Second)
			s.device.gone = false
			time.Sleep(9 * time.Second)
			s.press(coach.Hold)
		}))
		assert.Equal(t, []string{"silent", "", "silent"}, []string{s.notes[0].Sink, s.notes[1].Sink, s.notes[2].Sink})
		assert.Contains(t, s.notes[1].Lost, "the sound device has gone")
		var story []coach.EntryKind
		var reps []int
		for _, e := range s.log {
			switch e.Kind {
			case coach.EntryFault, coach.EntryPause, coach.EntryResume, coach.EntrySessionEnd:
				story = append(story, e.Kind)
			case coach.EntryRep:
				reps = append(reps, e.Rep)
			}
		}
		assert.Equal(t, []coach.EntryKind{coach.EntryFault, coach.EntryPause, coach.EntryResume, coach.EntrySessionEnd}, story)
		assert.Equal(t, []int{1, 2, 3, 1, 2, 3, 1, 2, 3}, reps, "no repetition is lost or led twice")
		assert.Equal(t, int(s.log[len(s.log)-1].Sample), len(s.pcm), "the recording is as long as the session")
	})
}

// inRep reports whether repetition n of the first set is being heard.
func inRep(_ *player.Feed, s *stage, n int) bool {
	for _, c := range s.cues {
		if c.Kind == coach.CueLower && c.Rep == n {
			return true
		}
	}
	return false
}

// The red button works while there is no sound device: the stop is logged and
// the lamp lit at once, and the signal sounds when the device is back.
func TestStopWithoutADevice(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := config(t)
		s := begin(cfg)
		require.NoError(t, s.run(t.Context(), func() {
			for !inRep(s.live.Feed, s, 2) {
				time.Sleep(100 * time.Millisecond)
			}
			s.device.gone = true
			time.Sleep(3 * time.Second)
			s.press(coach.Stop)
			time.Sleep(time.Millisecond)
			synctest.Wait()
			assert.True(t, s.events[len(s.events)-1].Look, "the stop lamp")
			assert.Contains(t, kinds(s.log), coach.EntryStop)
			s.device.gone = false
		}))
		assert.Equal(t, coach.Stopped, s.log[len(s.log)-1].Data.(*coach.SessionEndData).Outcome)
		assert.Contains(t, cueKinds(s.cues), coach.CueStop)
	})
}

// A device that vanishes at any time, with presses around it, loses no entry
// and leaves a log whose samples never go back.
func TestDeviceVanishesAnywhere(t *testing.T) {
	for seed := range uint64(10) {
		synctest.Test(t, func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 2))
			s := begin(config(t))
			ctx, cancel := context.WithCancel(t.Context())
			defer cancel()
			require.NoError(t, s.run(ctx, func() {
				time.Sleep(time.Duration(r.Float64() * float64(150*time.Second)))
				s.device.gone = true
				for range r.IntN(3) {
					s.press([]coach.Button{coach.Hold, coach.Tap, coach.Plus}[r.IntN(3)])
					time.Sleep(time.Duration(r.IntN(700)) * time.Millisecond)
				}
				s.device.gone = false
				time.Sleep(time.Duration(r.IntN(900)) * time.Millisecond)
				for {
					s.press(coach.Hold) // goes on where it was paused
					select {
					case <-ctx.Done():
						return
					case <-time.After(20 * time.Second):
					}
				}
			}))
			cancel()
			assert.Len(t, s.pcm, int(s.log[len(s.log)-1].Sample), "seed %d", seed)
			for i := 1; i < len(s.log); i++ {
				assert.LessOrEqual(t, s.log[i-1].Sample, s.log[i].Sample)
			}
			for i := 1; i < len(s.cues); i++ {
				assert.LessOrEqual(t, s.cues[i-1].At, s.cues[i].At)
			}
			assert.Equal(t, coach.EntrySessionEnd, s.log[len(s.log)-1].Kind)
		})
	}
}

func kinds(es []coach.Entry) (ks []coach.EntryKind) {
	for _, e := range es {
		ks = append(ks, e.Kind)
	}
	return ks
}

func cueKinds(cs []coach.Cue) (ks []coach.CueKind) {
	for _, c := range cs {
		ks = append(ks, c.Kind)
	}
	return ks
}

// Leaving a session ends it within a block and gives everything back.
func TestLeaving(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := begin(config(t))
		ctx, leave := context.WithCancel(t.Context())
		require.NoError(t, s.run(ctx, func() { time.Sleep(40 * time.Second); leave() }))
		assert.InDelta(t, 40, time.Since(s.began).Seconds(), 0.2)
		assert.NotContains(t, kinds(s.log), coach.EntrySessionEnd)
		assert.InDelta(t, 40*audio.Rate, len(s.pcm), audio.Rate/5)
	})
}

// A feed that nobody reads keeps nobody waiting, and loses nothing.
func TestFeedNeverBlocks(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := begin(config(t))
		require.NoError(t, s.live.Run(t.Context()))
		var log []coach.Entry
		es, more := s.live.Feed.Next()
		for _, e := range es {
			log = append(log, e.Entries...)
		}
		assert.False(t, more)
		_, want := render(config(t), 4096)
		assert.Equal(t, want.Entries, log)
	})
}
