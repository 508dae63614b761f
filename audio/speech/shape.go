package speech

import (
	"fmt"
	"math"
	"slices"

	"evenbell/audio/loudness"
)

// How every clip is shaped.
const (
	TargetLUFS   = -16.0
	ceilingDB    = -3.0  // the encoder's make-up and its overshoot come on top
	OnsetDB      = -40.0 // relative to the highest sample: speech begins with the first one over it
	endDB        = -50.0 // and ends with the last window over it
	window       = Rate / 200
	Before       = Rate * 3 / 1000 // kept before the onset, faded in
	after        = Rate * 25 / 1000
	lookAhead    = Rate * 4 / 1000
	measuredTime = 4 * Rate // short clips are repeated to this length
)

// Shape trims speech at Rate to its sound and brings it to the packs' loudness
// under a ceiling that leaves room for an encoder.
func Shape(speech []float64) ([]float64, error) {
	clip, err := trim(speech)
	if err != nil {
		return nil, err
	}
	dry, gain := clip, 1.0
	for range 4 {
		clip = limit(dry, gain)
		level, err := Loudness(clip)
		if err != nil {
			return nil, err
		}
		gain *= math.Pow(10, (TargetLUFS-level)/20)
	}
	return clip, nil
}

// trim cuts the silence around speech, leaving short fades.
func trim(speech []float64) ([]float64, error) {
	loudest := 0.0
	for _, x := range speech {
		loudest = math.Max(loudest, math.Abs(x))
	}
	if loudest == 0 {
		return nil, fmt.Errorf("there is nothing but silence")
	}
	first := 0
	for math.Abs(speech[first]) < loudest*math.Pow(10, OnsetDB/20) {
		first++
	}
	level := levels(speech)
	last := len(level) - 1
	for last > first/window && level[last] < loudest*math.Pow(10, endDB/20) {
		last--
	}
	clip := slices.Clone(speech[max(0, first-Before):min(len(speech), (last+1)*window+after)])
	fade(clip, Before, after)
	return clip, nil
}

// levels is the root mean square of each window, one after another.
func levels(speech []float64) []float64 {
	var out []float64
	for i := 0; i+window <= len(speech); i += window {
		sum := 0.0
		for _, x := range speech[i : i+window] {
			sum += x * x
		}
		out = append(out, math.Sqrt(sum/window))
	}
	return out
}

// fade rises over the first in samples and falls over the last out, as half a
// cosine.
func fade(clip []float64, in, out int) {
	in, out = min(in, len(clip)), min(out, len(clip))
	for i := range in {
		clip[i] *= 0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(in))
	}
	for i := range out {
		clip[len(clip)-1-i] *= 0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(out))
	}
}

// limit gives a copy with gain, turned down ahead of every peak that would
// pass the ceiling: the lowest gain needed within lookAhead, smoothed over the
// same time, so that no step is heard and no sample passes.
func limit(clip []float64, gain float64) []float64 {
	ceiling := math.Pow(10, ceilingDB/20)
	lowest := make([]float64, len(clip)+lookAhead)
	for i := range lowest {
		lowest[i] = 1
	}
	for i, x := range clip {
		need := ceiling / math.Abs(x*gain)
		for k := 0; need < 1 && k <= lookAhead; k++ {
			lowest[i+k] = min(lowest[i+k], need)
		}
	}
	sum := 0.0
	for _, g := range lowest[:lookAhead] {
		sum += g
	}
	out := make([]float64, len(clip))
	for i, x := range clip {
		sum += lowest[i+lookAhead]
		out[i] = x * gain * sum / (lookAhead + 1)
		sum -= lowest[i]
	}
	return out
}

// Loudness is the loudness of a clip at Rate, in LUFS, repeated without a gap: the gates
// are made for more than a word.
func Loudness(clip []float64) (float64, error) {
	m, err := loudness.NewMeter(Rate, 1)
	if err != nil {
		return 0, err
	}
	for n := 0; n < measuredTime; n += len(clip) {
		m.Write(clip)
	}
	level := m.Integrated()
	if math.IsInf(level, -1) {
		return 0, fmt.Errorf("it is too quiet to measure")
	}
	return level, nil
}
