package audibility

import "math"

// bandLevel is the level in dB SPL of every third octave of a pink noise whose
// bands from 100 Hz to 10 kHz add up to 0 dB(A).
var bandLevel = func() float64 {
	sum := 0.0
	for n := 20; n <= 40; n++ { // the bands' numbers: 1 kHz is 30
		sum += math.Pow(10, aWeight(math.Pow(10, float64(n)/10))/10)
	}
	return -10 * math.Log10(sum)
}()

// aWeight is the A-weighting of a frequency in dB (IEC 61672-1, analytic form,
// from memory; the test has its table).
func aWeight(hz float64) float64 {
	f := hz * hz
	return 2 + 20*math.Log10(12194*12194*f*f/((f+20.6*20.6)*math.Sqrt((f+107.7*107.7)*(f+737.9*737.9))*(f+12194*12194)))
}

// Masked is the level in dB SPL under which the room's noise hides a tone: that
// of the third octave around it, the same everywhere in pink noise.
func (l Listener) Masked() float64 { return l.NoiseDBA + bandLevel }
