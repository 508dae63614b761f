package loudness

import (
	"fmt"
	"math"
	"slices"
)

// Silence is what a meter reads where no block passes the gates, in LUFS.
var Silence = math.Inf(-1)

const (
	hopsPerBlock   = 4  // of 100 ms: 400 ms, BS.1770
	hopsPerShort   = 30 // of 100 ms: 3 s, EBU Tech 3342
	absoluteGate   = -70.0
	relativeGate   = -10.0
	rangeGate      = -20.0 // EBU Tech 3342
	loudnessOffset = -0.691
)

// Meter measures sound as it is written to it. All channels weigh the same,
// as left, right and centre do in BS.1770.
type Meter struct {
	channels []channel
	hop      int       // frames in 100 ms
	frames   int       // of the hop under way
	energy   float64   // of the hop under way, all channels
	hops     []float64 // mean square of each whole hop, all channels
}

type channel struct {
	shelf, highPass biquad
	peak            peaker
}

// NewMeter makes a meter for interleaved frames at rate samples a second,
// 8000 to 384000, of one to eight channels.
func NewMeter(rate, channels int) (*Meter, error) {
	if rate < 8000 || rate > 384000 || channels < 1 || channels > 8 {
		return nil, fmt.Errorf("a loudness meter takes 8000 to 384000 samples a second and 1 to 8 channels, not %d and %d", rate, channels)
	}
	m := &Meter{channels: make([]channel, channels), hop: (rate + 5) / 10}
	for i := range m.channels {
		m.channels[i] = channel{shelf: shelf(float64(rate)), highPass: highPass(float64(rate))}
	}
	return m, nil
}

// Write measures interleaved samples from −1 to 1; a last frame that is not
// whole is left out.
func (m *Meter) Write(samples []float64) {
	n := len(m.channels)
	for ; len(samples) >= n; samples = samples[n:] {
		for c := range m.channels {
			ch := &m.channels[c]
			ch.peak.step(samples[c])
			y := ch.highPass.step(ch.shelf.step(samples[c]))
			m.energy += y * y
		}
		if m.frames++; m.frames == m.hop {
			m.hops = append(m.hops, m.energy/float64(m.hop))
			m.frames, m.energy = 0, 0
		}
	}
}

// Integrated is the gated loudness of all that was written, in LUFS; Silence
// for less than 400 ms or nothing over −70 LUFS.
func (m *Meter) Integrated() float64 {
	blocks := m.blocks(hopsPerBlock)
	loud := above(blocks, power(absoluteGate))
	loud = above(loud, mean(loud)*math.Pow(10, relativeGate/10))
	return level(mean(loud))
}

// Range is the loudness range in LU: from the 10th to the 95th percentile of
// the gated three-second loudness; 0 for less than three seconds.
func (m *Meter) Range() float64 {
	loud := above(m.blocks(hopsPerShort), power(absoluteGate))
	loud = above(loud, mean(loud)*math.Pow(10, rangeGate/10))
	if len(loud) == 0 {
		return 0
	}
	slices.Sort(loud)
	at := func(p float64) float64 { return level(loud[int(p*float64(len(loud)-1)+0.5)]) }
	return at(0.95) - at(0.10)
}

// TruePeak is the highest magnitude between and at the samples, in dB
// relative to full scale (dBTP).
func (m *Meter) TruePeak() float64 {
	peak := 0.0
	for i := range m.channels {
		peak = math.Max(peak, m.channels[i].peak.drained())
	}
	return 20 * math.Log10(peak)
}

// blocks gives the mean square of n hops, one block from each hop on.
func (m *Meter) blocks(n int) []float64 {
	var out []float64
	for i := n; i <= len(m.hops); i++ {
		out = append(out, mean(m.hops[i-n:i]))
	}
	return out
}

func above(blocks []float64, gate float64) []float64 {
	var out []float64
	for _, b := range blocks {
		if b > gate {
			out = append(out, b)
		}
	}
	return out
}

// mean is 0 for no values.
func mean(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / math.Max(1, float64(len(values)))
}

func level(power float64) float64 { return loudnessOffset + 10*math.Log10(power) }

func power(level float64) float64 { return math.Pow(10, (level-loudnessOffset)/10) }
