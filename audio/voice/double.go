package voice

import "math"

// reach is how many samples on either side make one sample between.
const reach = 16

// between is the half-band filter's odd half in 1/65536ths: a sinc under a
// Kaiser window (β 6), the nearest pair of samples first.
var between = func() (c [reach]int64) {
	const beta = 6.0
	var raw [reach]float64
	sum := 0.0
	for i := range raw {
		x := float64(i) + 0.5
		w := bessel(beta*math.Sqrt(1-math.Pow(x/(reach+0.5), 2))) / bessel(beta)
		raw[i] = math.Sin(math.Pi*x) / (math.Pi * x) * w
		sum += 2 * raw[i]
	}
	for i := range raw {
		c[i] = int64(math.Round(raw[i] / sum * 65536))
	}
	return c
}()

// bessel is the modified Bessel function of the first kind of order 0.
func bessel(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1; term > 1e-12*sum; k++ {
		term *= (x / 2 / float64(k)) * (x / 2 / float64(k))
		sum += term
	}
	return sum
}

// Double gives twice as many samples for the same sound: those there are, and
// one after each, interpolated in whole numbers. Beyond its ends a clip is
// silent.
func Double(in []int16) []int16 {
	padded := make([]int16, len(in)+2*reach)
	copy(padded[reach:], in)
	out := make([]int16, 2*len(in))
	for i, x := range in {
		out[2*i] = x
		left, right := padded[i+1:i+1+reach], padded[i+1+reach:i+1+2*reach]
		var sum int64
		for k := range reach {
			sum += between[k] * (int64(left[reach-1-k]) + int64(right[k]))
		}
		out[2*i+1] = int16(max(-32768, min(32767, (sum+32768)>>16)))
	}
	return out
}
