package audio

import "math"

const (
	// window is over how many samples the limiter sees a peak coming: 1.3 ms.
	window = 64
	// taps is the length of each phase of the interpolation filter.
	taps = 12
	// ring is how many inputs the limiter remembers, a power of two.
	ring = 128
	// Lookahead is how many samples the limiter's output is behind its input.
	Lookahead = window - 1 + taps/2
	// ceiling is the highest true peak let through: −1.3 dBTP, a little under
	// the −1 dBTP promised, for interpolation of 12 taps reads slightly low.
	ceiling = 0.861
	// calm is a level under which no point between samples can pass the
	// ceiling, whatever the samples: ceiling over the filter's largest gain.
	calm = 0.40
	// release is the share of the missing gain given back each sample: 80 ms.
	release = 1.0 / (0.080 * Rate)
)

// between holds the filters that give the signal a quarter, half and three
// quarters of the way between two samples (ITU-R BS.1770 annex 2 asks for
// four times oversampling; the filter is a sinc under a raised cosine, ours).
var between = func() (f [3][taps]float32) {
	for p := range f {
		frac, sum := float64(p+1)/4, 0.0
		var h [taps]float64
		for k := range h {
			x := float64(k-taps/2+1) - frac
			w := 0.5 + 0.5*math.Cos(math.Pi*x/(taps/2+0.5))
			h[k] = math.Sin(math.Pi*x) / (math.Pi * x) * w
			sum += h[k]
		}
		for k := range h {
			f[p][k] = float32(h[k] / sum)
		}
	}
	return f
}()

// Limiter keeps the true peak under its ceiling by looking a little ahead.
// Its output is Lookahead samples behind its input. The zero value is ready;
// it is a value, and a copy of it is a snapshot.
type Limiter struct {
	in     [2 * ring]float32 // the last inputs, a ring kept twice, so that a stretch of it is one slice
	need   [window]float32   // 1 − gain that each of the last inputs needs, a ring
	smooth [window]int64     // 1 − gain released, in 1/2^32, a ring
	sum    int64             // of smooth
	most   float32           // of need
	i      uint64            // inputs so far
	loud   int               // inputs until nothing loud is in sight
	back   float32           // 1 − gain of the slow way back
	busy   bool              // the gain is not 1 yet
}

// Process limits buf in place: each output is the input Lookahead samples
// earlier.
func (l *Limiter) Process(buf []float32) {
	for n, x := range buf {
		buf[n] = l.step(x)
	}
}

func (l *Limiter) step(x float32) float32 {
	l.in[l.i%ring], l.in[l.i%ring+ring] = x, x
	if x > calm || x < -calm {
		l.loud = taps
	}
	var need float32
	if l.loud > 0 {
		l.loud--
		if p := l.peak(); p > ceiling {
			need = 1 - ceiling/p
		}
	}
	out := l.in[(l.i-Lookahead)%ring]
	if need > 0 {
		l.busy = true
	}
	if l.busy {
		out = float32(out * (1 - l.gain(need)))
	}
	l.i++
	return out
}

// peak is the highest point around the input taps/2 samples ago: that sample
// and the points between it and its successor.
func (l *Limiter) peak() float32 {
	from := (l.i - taps + 1) % ring
	last := l.in[from : from+taps]
	peak := abs(last[taps/2-1])
	for p := range between {
		var v float32
		for k, f := range &between[p] {
			v += float32(f * last[k])
		}
		peak = max(peak, abs(v))
	}
	return peak
}

// gain is how much the output is turned down: the most any input in the
// window needs, given back slowly, and smoothed over the window so that it
// is there when the peak is.
func (l *Limiter) gain(need float32) float32 {
	slot := l.i % window
	left := l.need[slot]
	l.need[slot] = need
	if need >= l.most {
		l.most = need
	} else if left == l.most {
		l.most = 0
		for _, v := range l.need {
			l.most = max(l.most, v)
		}
	}
	l.back = max(l.most, float32(l.back*(1-release)))
	if l.back < 1e-6 {
		l.back = 0
	}
	back := int64(float64(l.back) * (1 << 32))
	l.sum += back - l.smooth[slot]
	l.smooth[slot] = back
	l.busy = l.sum != 0
	return float32(float64(l.sum) / (window << 32))
}

func abs(x float32) float32 {
	if x < 0 {
		return -x
	}
	return x
}

// PCM writes samples as 16-bit numbers, rounding halves away from zero.
func PCM(dst []int16, src []float32) {
	for i, x := range src {
		v := float32(x * 32767)
		if v < 0 {
			v -= 0.5
		} else {
			v += 0.5
		}
		dst[i] = int16(min(max(v, -32768), 32767))
	}
}
