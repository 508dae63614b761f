package loudness

import "math"

const (
	oversample = 4
	peakTaps   = 24 // per phase
)

// peakPhases is a windowed sinc in its polyphase parts: phase k gives the
// signal k quarters of a sample after tap peakTaps/2.
var peakPhases = func() (phases [oversample][peakTaps]float64) {
	for k := range oversample {
		sum := 0.0
		for i := range peakTaps {
			x := float64(i-peakTaps/2) + float64(k)/oversample
			w := 0.5 + 0.5*math.Cos(math.Pi*x/(peakTaps/2+1))
			s := 1.0
			if x != 0 {
				s = math.Sin(math.Pi*x) / (math.Pi * x)
			}
			phases[k][i] = s * w
			sum += s * w
		}
		for i := range peakTaps {
			phases[k][i] /= sum
		}
	}
	return phases
}()

// peaker finds the highest magnitude of the oversampled signal.
type peaker struct {
	past [2 * peakTaps]float64 // each sample twice, so that a window is one slice
	at   int
	max  float64
}

func (p *peaker) step(x float64) {
	p.past[p.at], p.past[p.at+peakTaps] = x, x
	p.at = (p.at + 1) % peakTaps
	p.max = math.Max(p.max, math.Abs(x))
	window := p.past[p.at : p.at+peakTaps]
	for k := 1; k < oversample; k++ {
		sum := 0.0
		for i, c := range &peakPhases[k] {
			sum += c * window[i]
		}
		p.max = math.Max(p.max, math.Abs(sum))
	}
}

// drained is the peak with the filter's tail run out; p is a copy.
func (p peaker) drained() float64 {
	for range peakTaps {
		p.step(0)
	}
	return p.max
}
