package audio

import "math"

// Harmonic is the amplitude of a timbre's nth harmonic, from 1, where the
// timbre's highest point is 1.
func (t *Timbre) Harmonic(n int) float64 {
	var re, im float64
	for i, v := range t.table[:tableSize] {
		sin, cos := math.Sincos(2 * math.Pi * float64(n*i%tableSize) / tableSize)
		re += float64(v) * cos
		im += float64(v) * sin
	}
	return 2 * math.Hypot(re, im) / tableSize
}

// flat is the timbre that leaves a note's envelope as its sound.
var flat = func() *Timbre {
	var t Timbre
	for i := range t.table {
		t.table[i] = 1
	}
	return &t
}()

// Envelope is how high the note's loudest point stands at each of its samples,
// gain, strike, attack and release taken in.
func (n Note) Envelope() []float32 {
	n.Timbre = flat
	t := newTone(n)
	env := make([]float32, n.Length)
	for i := range env {
		env[i] = t.next(int32(i))
	}
	return env
}
