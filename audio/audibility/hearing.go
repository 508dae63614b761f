package audibility

import (
	"fmt"
	"math"
)

// Sex is the sex the standard's medians are given for.
type Sex string

// The sexes of ISO 7029.
const (
	Man   Sex = "man"
	Woman Sex = "woman"
)

// Listener is an ear in a room.
type Listener struct {
	Age      int // years, 18 to 80
	Sex      Sex
	NoiseDBA float64 // of the room, dB(A)
}

// Youngest and Oldest are the ages ISO 7029:2017 gives medians for (from
// memory; above 2 kHz it ends at 70, and the formula is carried on).
const Youngest, Oldest = 18, 80

// Check refuses a listener outside what the tables know.
func (l Listener) Check() error {
	switch {
	case l.Age < Youngest || l.Age > Oldest:
		return fmt.Errorf("the age is %d; the hearing tables go from %d to %d", l.Age, Youngest, Oldest)
	case l.Sex != Man && l.Sex != Woman:
		return fmt.Errorf("the sex is %q; the hearing tables have man and woman", l.Sex)
	case !(l.NoiseDBA >= 0 && l.NoiseDBA <= 120):
		return fmt.Errorf("the noise is %v dB(A); from 0 to 120", l.NoiseDBA)
	}
	return nil
}

// aging is a·(age − 18)^b in dB.
type aging struct{ a, b float64 }

// agingHz are the frequencies of ages.
var agingHz = [...]float64{500, 1000, 2000, 3000, 4000}

// ages are the median shifts of the hearing threshold, ISO 7029:2017.
var ages = map[Sex][len(agingHz)]aging{
	Man:   {{4.59e-4, 2.537}, {7.02e-4, 2.494}, {1.56e-3, 2.404}, {2.54e-3, 2.350}, {3.40e-3, 2.325}},
	Woman: {{2.61e-4, 2.708}, {2.21e-4, 2.805}, {3.12e-4, 2.792}, {4.88e-4, 2.728}, {7.37e-4, 2.660}},
}

// Shift is how much worse than at 18 half of the people of an age and sex hear
// a frequency, in dB, between 500 and 4000 Hz; the nearest of these outside,
// and on a line over the logarithm of frequency between the table's rows.
func Shift(age int, sex Sex, hz float64) float64 {
	var y [len(agingHz)]float64
	for i, r := range ages[sex] {
		y[i] = r.a * math.Pow(float64(max(age, Youngest)-Youngest), r.b)
	}
	return between(agingHz[:], y[:], hz)
}

// openHz and openDB are the free-field hearing threshold of young ears facing
// the sound, in dB SPL, after ISO 389-7. From memory: the standard was not
// seen.
var (
	openHz = []float64{250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000}
	openDB = []float64{11.4, 8.6, 6.2, 4.4, 3.0, 2.2, 2.4, 3.5, 1.7, -1.3, -4.2, -6.0, -5.4}
)

// Threshold is the softest tone in dB SPL that half of the people of the
// listener's age and sex hear in a quiet room.
func (l Listener) Threshold(hz float64) float64 {
	return between(openHz, openDB, hz) + Shift(l.Age, l.Sex, hz)
}

// between reads a table over the logarithm of frequency.
func between(x, y []float64, hz float64) float64 {
	if hz <= x[0] {
		return y[0]
	}
	for i := 1; i < len(x); i++ {
		if hz <= x[i] {
			share := math.Log(hz/x[i-1]) / math.Log(x[i]/x[i-1])
			return y[i-1] + share*(y[i]-y[i-1])
		}
	}
	return y[len(y)-1]
}
