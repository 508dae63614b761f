package loudness

import "math"

// biquad is a second-order filter in transposed direct form II.
type biquad struct {
	b0, b1, b2, a1, a2 float64
	z1, z2             float64
}

func (f *biquad) step(x float64) float64 {
	y := f.b0*x + f.z1
	f.z1 = f.b1*x - f.a1*y + f.z2
	f.z2 = f.b2*x - f.a2*y
	return y
}

// The analogue filters that BS.1770's 48 kHz coefficients come from, found by
// undoing the bilinear transform; the test compares the digits at 48 kHz with
// the published ones.
const (
	shelfHz    = 1681.974450955533
	shelfGain  = 3.999843853973347 // dB
	shelfQ     = 0.7071752369554196
	highPassHz = 38.13547087602444
	highPassQ  = 0.5003270373238773
)

// shelf is the first stage: a rise of 4 dB above some 1.7 kHz, for the head.
func shelf(rate float64) biquad {
	k := math.Tan(math.Pi * shelfHz / rate)
	high := math.Pow(10, shelfGain/20)
	band := math.Pow(high, 0.4996667741545416)
	a0 := 1 + k/shelfQ + k*k
	return biquad{
		b0: (high + band*k/shelfQ + k*k) / a0,
		b1: 2 * (k*k - high) / a0,
		b2: (high - band*k/shelfQ + k*k) / a0,
		a1: 2 * (k*k - 1) / a0,
		a2: (1 - k/shelfQ + k*k) / a0,
	}
}

// highPass is the second stage, against rumble.
func highPass(rate float64) biquad {
	k := math.Tan(math.Pi * highPassHz / rate)
	a0 := 1 + k/highPassQ + k*k
	return biquad{b0: 1, b1: -2, b2: 1, a1: 2 * (k*k - 1) / a0, a2: (1 - k/highPassQ + k*k) / a0}
}
