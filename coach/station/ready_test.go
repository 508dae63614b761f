package station_test

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
)

// A speaker that never waits has every clip of a session by the time it is
// heard, though only a stretch of it is decoded at a time: what the audio
// goroutine plays is what a patient render gives, also where somebody pauses,
// leaves out, has enough, changes the volume or stops. A block of 85 ms is
// longer than what was just laid out takes to be decoded on any machine.
func TestAPreparedSessionLacksNoClip(t *testing.T) {
	for name, text := range map[string][]byte{"chair": plan.Demo(), "mat": plan.DemoMat()} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			prog := hurried(t, name, text)
			if name == "mat" {
				prog.Intro = true
				lacksNothing(t, prog, nil)
				prog.Intro = false
			}
			lacksNothing(t, prog, handful(uint64(len(name))))
		})
	}
}

// hurried is a built-in programme with less to render, and as much to say.
func hurried(t *testing.T, name string, text []byte) coach.Programme {
	p, faults := plan.Read(name, text, protocol.Default())
	require.Empty(t, faults)
	prog, err := p.Resolve(p.Patients[0].Tag, p.Day)
	require.NoError(t, err)
	prog.WarmUp, prog.CoolDown = 60*time.Second, 60*time.Second
	for i := range prog.Items {
		prog.Items[i].Dose.Reps = 3
		prog.Items[i].Pace.Rest = 30 * time.Second
	}
	return prog
}

// handful are presses at random over a quarter of an hour, a stop at the end.
func handful(seed uint64) []coach.Press {
	dice := rand.New(rand.NewPCG(seed, 5))
	buttons := []coach.Button{coach.Hold, coach.Hold, coach.Hold, coach.Minus, coach.Plus, coach.Tap}
	var ps []coach.Press
	for at := coach.Samples(30 * 48000); at < 48000*60*15; at += coach.Samples(dice.IntN(48000 * 20)) {
		ps = append(ps, coach.Press{Button: buttons[dice.IntN(len(buttons))], At: at})
	}
	return append(ps, coach.Press{Button: coach.Stop, At: 48000 * 60 * 15})
}

func lacksNothing(t *testing.T, prog coach.Programme, presses []coach.Press) {
	v, patient := voice(t)
	quick, err := v.AtOnce()
	require.NoError(t, err)
	cfg := config(prog, quick)
	require.NoError(t, v.Prepare(cfg))
	cfg.Presses = presses
	slow := cfg
	slow.Voice = patient
	got, want := player.New(cfg), player.New(slow)
	a, b := make([]int16, 4096), make([]int16, 4096)
	for !want.Over() {
		v.Settle()
		n := want.Render(b)
		require.Equal(t, n, got.Render(a))
		if !slices.Equal(a[:n], b[:n]) {
			h := want.Take(player.All)
			at, last := want.Pos(), h.Cues[len(h.Cues)-1]
			require.Failf(t, "a clip is missing", "at %.2f s, near %s %+v at %.2f s", float64(at)/48000, last.Kind, last.Phrase, float64(last.At)/48000)
		}
	}
	assert.True(t, got.Over())
}
