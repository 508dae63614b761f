package station_test

import (
	"context"
	"os/exec"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio"
	"evenbell/audio/sink"
	"evenbell/coach"
	"evenbell/coach/player"
	"evenbell/coach/script"
)

// mute says everything in no time and silence, so that a session in real time
// soon comes to its first movement.
type mute struct{}

func (mute) Length(string) (int, bool) { return 1 * ms, true }

func muteVoice(t testing.TB) *player.Speaker {
	t.Helper()
	sc, err := script.Load("en")
	require.NoError(t, err)
	sp, err := player.NewSpeaker(sc, mute{}, func(string) audio.Clip { return audio.Clip{} })
	require.NoError(t, err)
	return sp
}

// quick is a session of a few seconds up to and into its first set.
func quick(t testing.TB) coach.Programme {
	p := short(t)
	p.Part, p.WarmUp, p.CoolDown = coach.Middle, 0, 0
	p.Items = p.Items[:1]
	p.Items[0].Pace.Rest = 0
	p.Items[0].Pace.Settle = time.Second
	p.Guide = coach.GuideTones
	return p
}

// played is what a live session logged, and what was recorded of its output.
type played struct {
	pcm       []int16 // as the session has it
	tape      []int16 // as the output played it
	cues      []coach.Cue
	log       []coach.Entry
	underruns int
	lost      bool // the output took no sound for too long
	at        int  // the sample heard when the red button was pressed
}

// stop is the sample at which the stop took effect; -1 without one.
func (p *played) stop() int {
	for _, e := range p.log {
		if e.Kind == coach.EntryStop {
			return int(e.Sample)
		}
	}
	return -1
}

// moment is when the red button is pressed: some time after the nth cue of a
// kind was heard. The zero moment is never.
type moment struct {
	kind  coach.CueKind
	nth   int
	after time.Duration
}

// inALift is well within the first lift.
var inALift = moment{coach.CueCountIn, 3, 1300 * time.Millisecond}

// play plays live until the first set has ended or a stop has sounded for half
// a second.
func play(t testing.TB, open func() (sink.Sink, error), client func(string, ...string) *exec.Cmd, cfg player.Config, stop moment) played {
	t.Helper()
	cfg.Live = true
	began := time.Now()
	var out played
	presses := make(chan player.Pressed, 1)
	l := &player.Live{Player: player.New(cfg), Presses: presses, Speed: 1, Feed: player.NewFeed(), Record: true,
		Now: func() time.Duration { return time.Since(began) },
		Open: func() (sink.Sink, string, error) {
			s, err := open()
			return s, "for a test", err
		}}
	ends := func() []int16 { return nil }
	if client != nil {
		ends = tape(t, client)
	}
	ctx, leave := context.WithCancel(t.Context())
	defer leave()
	done := make(chan error, 1)
	go func() { done <- l.Run(ctx) }()
	seen := 0
	for range l.Feed.More() {
		es, more := l.Feed.Next()
		for _, e := range es {
			out.cues, out.log, out.pcm = append(out.cues, e.Cues...), append(out.log, e.Entries...), append(out.pcm, e.PCM...)
			out.underruns = max(out.underruns, e.Note.Underruns)
			if e.Note.Lost != "" && !out.lost {
				out.lost = true
				leave()
			}
			for _, c := range e.Cues {
				switch {
				case c.Kind == coach.CueSetEnd && stop.nth == 0:
					time.AfterFunc(200*time.Millisecond, leave)
				case c.Kind == coach.CueStop:
					time.AfterFunc(500*time.Millisecond, leave)
				case c.Kind == stop.kind:
					if seen++; seen == stop.nth {
						time.AfterFunc(stop.after, func() {
							presses <- player.Pressed{Button: coach.Stop, Time: time.Since(began)}
						})
					}
				}
			}
		}
		if !more {
			break
		}
	}
	require.NoError(t, <-done)
	for _, e := range out.log {
		if d, ok := e.Data.(*coach.PressData); ok && d.Button == coach.Stop {
			out.at = int(d.Heard)
		}
	}
	out.tape = ends()
	return out
}

// A real way of playing: a live session through PulseAudio, recorded from its
// output's monitor, is sample by sample what a render gives, so every onset is
// where its cue is. Only where no underrun was reported: so it runs before the
// tests that share the processor with one another.
func TestPulsePlaysWhatIsRendered(t *testing.T) {
	address, client := pulseServer(t)
	prog := quick(t)
	prog.Items[0].Dose.Reps = 2
	pace := &prog.Items[0].Pace
	pace.Settle, pace.Lift, pace.Lower = 200*time.Millisecond, time.Second, 2*time.Second
	cfg := config(prog, muteVoice(t))
	want, heard := render(t, cfg, 4096)
	got := play(t, func() (sink.Sink, error) { return sink.NewPulse(address) }, client, cfg, moment{})
	if got.underruns > 0 || got.lost {
		t.Skipf("this machine was too busy: %d underruns, output lost: %v", got.underruns, got.lost)
	}
	require.Equal(t, heard.Cues[:len(got.cues)], got.cues)
	require.Equal(t, heard.Entries[:len(got.log)], got.log)
	// Lay the recording over the render at the first lift, and look at the
	// onsets all over.
	at, n := 0, 0
	for _, c := range heard.Cues {
		if c.Kind == coach.CueCountIn {
			at = int(c.At)
			break
		}
	}
	shift := find(got.tape, want[at:at+4800]) - at
	require.GreaterOrEqual(t, shift, 0, "the count-in was not found in the recording")
	moved := got.tape[shift:]
	for _, c := range got.cues {
		if c.Kind != coach.CueLift && c.Kind != coach.CueLower && c.Kind != coach.CueBeat && c.Kind != coach.CueCountIn {
			continue
		}
		off, residual, found := onset(moved, heard.Cues, c.At)
		if residual > 1 {
			continue // the bells that announce the last repetition still sound
		}
		require.True(t, found, "%s at %d", c.Kind, c.At)
		assert.True(t, off >= 0 && off <= 2, "%s at %d is heard %d samples off", c.Kind, c.At, off)
		n++
	}
	assert.Greater(t, n, 6)
	t.Logf("%d onsets in the recording, each within 2 samples of its cue", n)
	assert.True(t, slices.Equal(want[at:at+5*48000], moved[at:at+5*48000]), "and every sample is the same")
}

// find is where a stretch of sound occurs, or -1.
func find(in, what []int16) int {
	for i := range len(in) - len(what) {
		k := 0
		for k < len(what) && in[i+k] == what[k] {
			k++
		}
		if k == len(what) {
			return i
		}
	}
	return -1
}
