package station_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/player"
)

// silence is -60 dBFS in 16-bit steps.
const silence = 32768 / 1000.0

const ms = 48 // samples

// stopped renders a session with a stop at a sample, as far as another: past
// the spoken instruction.
func stopped(cfg player.Config, at, to coach.Samples) ([]int16, player.Heard) {
	cfg.Presses = append(slices.Clone(cfg.Presses), coach.Press{Button: coach.Stop, At: at})
	slices.SortStableFunc(cfg.Presses, func(a, b coach.Press) int { return int(a.At - b.At) })
	p := player.New(cfg)
	buf := make([]int16, 4096)
	var pcm []int16
	for !p.Over() && p.Pos() < to {
		n := p.Render(buf)
		pcm = append(pcm, buf[:n]...)
	}
	return pcm, p.Take(p.Pos())
}

// stops picks samples all over a session: in every kind of passage, at the
// very sample of cues and beside them, and at random.
func stops(r *rand.Rand, cues []coach.Cue, end coach.Samples) []coach.Samples {
	at := []coach.Samples{0, 1, 48000}
	seen := map[coach.CueKind]int{}
	for _, c := range cues {
		if seen[c.Kind]++; seen[c.Kind] <= 1 {
			at = append(at, c.At, c.At+coach.Samples(1+r.IntN(20000)))
		}
	}
	for range 8 {
		at = append(at, coach.Samples(r.Int64N(int64(end))))
	}
	return at
}

// After a stop at sample p: no pacing cue; below -60 dBFS from p + 20 ms to
// p + 150 ms; the signal from p + 150 ms on; then the instruction, and only
// after it a question.
func TestStopAnywhere(t *testing.T) {
	t.Parallel()
	for _, guide := range []coach.Guide{coach.GuideBoth, coach.GuideTones} {
		prog := short(t)
		prog.Guide, prog.Items = guide, prog.Items[:1]
		prog.Items[0].Dose.Reps, prog.Items[0].Dose.Sets, prog.Items[0].Pace.BreathEvery = 3, 2, 2
		_, sp := voice(t)
		cfg := config(prog, sp)
		// As loud as it goes, so that the limiter is at work.
		for i := range 3 {
			cfg.Presses = append(cfg.Presses, coach.Press{Button: coach.Plus, At: coach.Samples(48000*38 + 48000*i)})
		}
		dry, end := player.Dry(cfg)
		r := rand.New(rand.NewPCG(7, 8))
		worst := 0.0
		at := stops(r, dry.Cues, end)
		if guide == coach.GuideTones { // the same silence, with less to be silenced
			at = at[len(at)-12:]
		}
		for _, p := range at {
			pcm, h := stopped(cfg, p, p+30*48000)
			peak := 0.0
			for _, v := range pcm[p+20*ms : p+150*ms] {
				peak = max(peak, math.Abs(float64(v)))
			}
			worst = max(worst, peak)
			require.LessOrEqual(t, peak, silence, "stop at %d", p)
			first := int(p) + 150*ms
			for math.Abs(float64(pcm[first])) <= silence {
				first++
			}
			require.LessOrEqual(t, first-int(p)-150*ms, 3*ms, "the signal after the stop at %d", p)
			afterStop(t, h.Cues, p)
		}
		t.Logf("guide %s: %d stops, at most %.0f of 32768 in the silence", guide, len(at), worst)
	}
}

// afterStop checks the cues that follow a stop at p.
func afterStop(t *testing.T, cues []coach.Cue, p coach.Samples) {
	t.Helper()
	var rest []coach.Cue
	for _, c := range cues {
		if c.At >= p {
			require.False(t, c.Kind.Pacing(), "%s at %d after a stop at %d", c.Kind, c.At, p)
			rest = append(rest, c)
		}
	}
	require.GreaterOrEqual(t, len(rest), 3)
	assert.Equal(t, coach.CueStop, rest[0].Kind)
	assert.Equal(t, p+150*ms, rest[0].At)
	assert.Equal(t, coach.SayStop, rest[1].Phrase.ID)
	assert.Greater(t, rest[1].At, rest[0].At+3*48000, "the instruction follows the signal")
	assert.Equal(t, coach.CueAsk, rest[2].Kind)
	assert.Greater(t, rest[2].At, rest[1].At+5*48000, "the question follows after a pause")
}

// The stop signal is shaped like the high-priority burst of IEC 60601-1-8 as
// independent code quotes it (the standard itself not seen; no compliance is
// claimed): 10 pulses in two fives, pulse 75-200 ms, spacing x 50-125 ms, third
// to fourth 2x + t_d, fifth to sixth 0.35-1.30 s, rise 10-20 % of the pulse;
// fundamental 150-1000 Hz with at least 4 harmonics within 300-4000 Hz and
// +-15 dB of it.
func TestStopSignalIsShapedLikeABurst(t *testing.T) {
	t.Parallel()
	_, sp := voice(t)
	pcm, h := stopped(config(short(t), sp), 48000*20, 48000*25)
	var at int
	for _, c := range h.Cues {
		if c.Kind == coach.CueStop {
			at = int(c.At)
		}
	}
	pulses := pulses(pcm[at : at+3400*ms])
	require.Len(t, pulses, 10)
	x := pulses[1].from - pulses[0].to
	td := pulses[0].to - pulses[0].from
	for i, p := range pulses {
		assert.InDelta(t, 137.5, float64(p.to-p.from)/ms, 62.5, "length of pulse %d in ms", i+1)
		assert.GreaterOrEqual(t, p.rise, 0.10, "rise of pulse %d", i+1)
		assert.LessOrEqual(t, p.rise, 0.20, "rise of pulse %d", i+1)
		if i == 0 {
			continue
		}
		gap := float64(p.from-pulses[i-1].to) / ms
		switch i {
		case 3, 8:
			assert.InDelta(t, float64(2*x+td)/ms, gap, 2, "third to fourth")
		case 5:
			assert.InDelta(t, 825, gap, 475, "fifth to sixth")
		default:
			assert.InDelta(t, 87.5, gap, 37.5, "spacing before pulse %d", i+1)
		}
		spectrum(t, fmt.Sprint("pulse ", i+1), pcm[at+p.from:at+p.to])
	}
}

type pulse struct {
	from, to int
	rise     float64 // from 10 to 90 % of its height, as a share of its length
}

// pulses finds stretches of sound with silence around them.
func pulses(pcm []int16) (ps []pulse) {
	quiet := 1000
	for i, v := range pcm {
		if math.Abs(float64(v)) > 60 {
			if quiet > 10*ms {
				ps = append(ps, pulse{from: i})
			}
			ps[len(ps)-1].to, quiet = i, 0
		}
		quiet++
	}
	for i := range ps {
		p := &ps[i]
		env := make([]float64, p.to-p.from)
		top := 0.0
		for k := range env { // peak over one period around
			for _, v := range pcm[max(0, p.from+k-46):min(p.to, p.from+k+46)] {
				env[k] = max(env[k], math.Abs(float64(v)))
			}
			top = max(top, env[k])
		}
		var low, high int
		for k := range env {
			if low == 0 && env[k] > 0.1*top {
				low = k
			}
			if env[k] > 0.9*top {
				high = k
				break
			}
		}
		p.rise = float64(high-low) / float64(len(env)) / 0.8 // as of the whole rise, being straight
	}
	return ps
}

func spectrum(t *testing.T, name string, pcm []int16) {
	t.Helper()
	f0 := pitch(append(make([]int16, 4000), append(pcm, make([]int16, 4000)...)...), 4000+len(pcm)/2, 150, 1000)
	assert.InDelta(t, 575, f0, 425, name)
	base, near := level(pcm, f0), 0
	for h := 2.0; h*f0 <= 4000; h++ {
		if l := level(pcm, h*f0) - base; h*f0 >= 300 && math.Abs(l) <= 15 {
			near++
		}
	}
	assert.GreaterOrEqual(t, near, 4, "%s: harmonics within 15 dB of %.0f Hz", name, f0)
}

// level is how strong a frequency is, in dB.
func level(pcm []int16, f float64) float64 {
	var re, im float64
	for i, v := range pcm {
		w := 1 - math.Cos(2*math.Pi*float64(i)/float64(len(pcm)))
		s, c := math.Sincos(2 * math.Pi * f * float64(i) / 48000)
		re, im = re+w*float64(v)*c, im+w*float64(v)*s
	}
	return 10 * math.Log10(re*re+im*im)
}
