package station_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

// The onset measure. What sounds just before a cue goes on smoothly: the end
// of a glide, which is four harmonics of a known pitch that rise or fall in
// strength in proportion to time, or silence. That much is fitted by least
// squares to 10 ms of the sound that end well before the cue, and continued
// across it. The cue's own sound begins at the first sample that lies off the
// continuation by more than the 16-bit steps explain.
const (
	fitted    = 480 // samples fitted
	apart     = 64  // between the fit and the cue, so that a sound too early shows
	after     = 64  // searched after the cue, so that one too late shows
	harmonics = 4
	offBy     = 4.0 // steps of 16 bits
)

// glide is the pitch that sounds before a cue: a phase of the movement.
type glide struct {
	from, to       float64 // Hz
	start, samples int
}

// pitches the movement has, in Hz: a lift rises from one to the other.
const low, high = 370.0, 740.0

// under finds the movement sounding just before a sample.
func under(cues []coach.Cue, at coach.Samples) glide {
	ends := map[coach.CueKind][2]float64{coach.CueLift: {low, high}, coach.CueLower: {high, low},
		coach.CueTop: {high, high}, coach.CueBottom: {low, low}}
	for i := len(cues) - 1; i >= 0; i-- {
		c := &cues[i]
		if e, ok := ends[c.Kind]; ok && c.At < at-1 && at-1 < c.At+c.Length {
			return glide{e[0], e[1], int(c.At), int(c.Length)}
		}
	}
	return glide{from: low, to: low, samples: 1}
}

// phase is how many periods have passed at a sample.
func (g glide) phase(at int) float64 {
	t := float64(at - g.start)
	return (g.from*t + (g.to-g.from)*t*t/2/float64(g.samples)) / 48000
}

// basis is what the fit is made of, at a sample.
func (g glide) basis(at, origin int) (b [4 * harmonics]float64) {
	for h := range harmonics {
		s, c := math.Sincos(2 * math.Pi * float64(h+1) * g.phase(at))
		t := float64(at-origin) / fitted
		b[4*h], b[4*h+1], b[4*h+2], b[4*h+3] = s, c, s*t, c*t
	}
	return b
}

// onset finds where a cue's sound begins, as samples from the cue. residual is
// how well the fit describes what sounds before it, in 16-bit steps; found is
// false where nothing begins.
func onset(pcm []int16, cues []coach.Cue, cue coach.Samples) (at int, residual float64, found bool) {
	g := under(cues, cue)
	from := int(cue) - apart - fitted
	var m [4 * harmonics][4*harmonics + 1]float64
	for i := from; i < from+fitted; i++ {
		b := g.basis(i, from)
		for r := range b {
			for c := range b {
				m[r][c] += b[r] * b[c]
			}
			m[r][len(b)] += b[r] * float64(pcm[i])
		}
	}
	x := solve(&m)
	off := func(i int) float64 {
		v := float64(pcm[i])
		for k, b := range g.basis(i, from) {
			v -= x[k] * b
		}
		return v
	}
	for i := from; i < from+fitted; i++ {
		residual += off(i) * off(i)
	}
	residual = math.Sqrt(residual / fitted)
	for i := from + fitted; i < int(cue)+after; i++ {
		if math.Abs(off(i)) > offBy {
			return i - int(cue), residual, true
		}
	}
	return 0, residual, false
}

// solve is Gauss's elimination with pivots.
func solve(m *[4 * harmonics][4*harmonics + 1]float64) (x [4 * harmonics]float64) {
	n := len(m)
	for c := range n {
		p := c
		for r := c; r < n; r++ {
			if math.Abs(m[r][c]) > math.Abs(m[p][c]) {
				p = r
			}
		}
		m[c], m[p] = m[p], m[c]
		for r := range n {
			if r != c && m[c][c] != 0 {
				f := m[r][c] / m[c][c]
				for k := c; k <= n; k++ {
					m[r][k] -= f * m[c][k]
				}
			}
		}
	}
	for c := range n {
		x[c] = m[c][n] / m[c][c]
	}
	return x
}

// Every pacing cue's sound begins at its sample. A waveform starts at phase
// zero, so the sample of the cue itself is zero and the next one or two are
// the first to be heard; a breath swells so slowly that 16 bits show it only
// some samples later. Movements are led by tones alone here.
func TestEverySoundBeginsAtItsSample(t *testing.T) {
	t.Parallel()
	late := map[coach.CueKind]int{coach.CueBreath: 16} // others: 2
	for name, prog := range map[string]coach.Programme{"demo": demo(t), "standing still at the ends": still(t)} {
		t.Run(name, func(t *testing.T) {
			prog.Guide = coach.GuideTones
			_, sp := voice(t)
			pcm, h := render(t, config(prog, sp), 4096)
			measured, total, worst := map[coach.CueKind]int{}, map[coach.CueKind]int{}, map[coach.CueKind]int{}
			for _, c := range h.Cues {
				if (!c.Kind.Pacing() && c.Kind != coach.CueSetEnd && c.Kind != coach.CueDone) || c.At < fitted+apart {
					continue
				}
				total[c.Kind]++
				at, residual, found := onset(pcm, h.Cues, c.At)
				if residual > 1 {
					continue // something else sounds there that is not modelled: a bell's end
				}
				measured[c.Kind]++
				require.True(t, found, "%s at %d has no sound", c.Kind, c.At)
				limit := 2
				if l, ok := late[c.Kind]; ok {
					limit = l
				}
				assert.True(t, at >= 0 && at <= limit, "%s at %d begins %d samples from its cue", c.Kind, c.At, at)
				worst[c.Kind] = max(worst[c.Kind], at)
			}
			for k, n := range total {
				t.Logf("%-9s %3d of %3d measured, at most %d samples after the cue", k, measured[k], n, worst[k])
				assert.GreaterOrEqual(t, float64(measured[k]), 0.6*float64(n), "%s: too few could be measured", k)
			}
		})
	}
}

// pitch is the strongest frequency between two in 40 ms around a sample, by
// scanning a Hann-windowed transform.
func pitch(pcm []int16, at int, from, to float64) float64 {
	const span = 1920
	best, strongest := 0.0, 0.0
	for f := from; f <= to; f++ {
		var re, im float64
		for i := range span {
			w := (1 - math.Cos(2*math.Pi*float64(i)/span)) * float64(pcm[at-span/2+i])
			s, c := math.Sincos(2 * math.Pi * f * float64(i) / 48000)
			re, im = re+w*c, im+w*s
		}
		if p := re*re + im*im; p > strongest {
			best, strongest = f, p
		}
	}
	return best
}

// breathes reports whether a breath sounds in a cue's time: its pitch is near
// that of a bottom, and it lasts under half a second.
func breathes(cues []coach.Cue, c coach.Cue) bool {
	return slices.ContainsFunc(cues, func(b coach.Cue) bool {
		return b.Kind == coach.CueBreath && b.At > c.At-24000 && b.At < c.At+c.Length
	})
}

// A lift rises from 370 to 740 Hz through its whole length and a lower falls
// back, in a straight line; top and bottom keep its ends.
func TestGlidesRiseAndFall(t *testing.T) {
	t.Parallel()
	prog := still(t)
	prog.Guide = coach.GuideTones
	_, sp := voice(t)
	pcm, h := render(t, config(prog, sp), 4096)
	n := map[coach.CueKind]int{}
	for _, c := range h.Cues {
		g := under(h.Cues, c.At+c.Length)
		if c.Kind != coach.CueLift && c.Kind != coach.CueLower && c.Kind != coach.CueTop && c.Kind != coach.CueBottom {
			continue
		}
		if breathes(h.Cues, c) {
			continue
		}
		if n[c.Kind]++; n[c.Kind] > 3 {
			continue
		}
		for _, share := range []float64{0.1, 0.25, 0.4, 0.6, 0.75, 0.9} {
			at := int(c.At) + int(share*float64(c.Length))
			want := g.from + share*(g.to-g.from)
			assert.InDelta(t, want, pitch(pcm, at, 320, 800), 0.015*want, "%s at %.0f %%", c.Kind, 100*share)
		}
	}
	assert.Len(t, n, 4)
}
