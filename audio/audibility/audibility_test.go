package audibility

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio"
)

func TestMedianShiftWithAge(t *testing.T) {
	for _, r := range []struct {
		sex  Sex
		age  int
		want [5]float64 // at 500, 1000, 2000, 3000, 4000 Hz
	}{
		{Man, 70, [5]float64{10.36, 13.37, 20.82, 27.38, 33.20}},   // ISO 7029:2017, checked values of the project
		{Woman, 70, [5]float64{11.58, 14.38, 19.29, 23.42, 27.04}}, // its formula, computed apart with Python
		{Man, 18, [5]float64{}},                                    // by definition
	} {
		for i, hz := range agingHz {
			assert.InDelta(t, r.want[i], Shift(r.age, r.sex, hz), 0.005, "%s of %d at %g Hz", r.sex, r.age, hz)
		}
	}
	assert.InDelta(t, (10.36+13.37)/2, Shift(70, Man, math.Sqrt(500*1000)), 0.01, "halfway between two rows, on the logarithm")
	assert.Equal(t, Shift(70, Man, 500), Shift(70, Man, 300))
	assert.Equal(t, Shift(70, Man, 4000), Shift(70, Man, 9000))
}

// The table of IEC 61672-1, from memory.
func TestAWeighting(t *testing.T) {
	for hz, want := range map[float64]float64{100: -19.1, 250: -8.6, 500: -3.2, 1000: 0, 2000: 1.2, 4000: 1.0, 10000: -2.5} {
		exact := math.Pow(10, math.Round(10*math.Log10(hz))/10) // the band's exact middle
		assert.InDelta(t, want, aWeight(exact), 0.1, "%g Hz", hz)
	}
	// 21 equal bands weighted by that table add up to 11.7 dB more than one.
	assert.InDelta(t, 60-11.7, Listener{NoiseDBA: 60}.Masked(), 0.1)
}

// A held sine of half of full scale is 9 dB under full scale: its level follows
// from the reference alone.
func TestLevelOfAHeldTone(t *testing.T) {
	l := Listener{Age: 18, Sex: Man, NoiseDBA: 60}
	held := audio.Note{Timbre: audio.NewTimbre(1), From: 1000, To: 1000, Length: audio.Rate, Gain: 0.5, Sustain: 1}
	for _, m := range Moments(held, l)[1:10] {
		assert.InDelta(t, 70+16-9.03, m.LevelDB, 0.02)
		assert.InDelta(t, m.LevelDB-2.4, m.OverHearing, 0.001)
		assert.InDelta(t, m.LevelDB-48.3, m.OverNoise, 0.1)
	}
	short := held
	short.Length = audio.Rate / 50 // a tenth of what the ear gathers
	require.Len(t, Moments(short, l), 1)
	assert.InDelta(t, 70+16-9.03-10, Moments(short, l)[0].LevelDB, 0.05)
}

func TestTheHarmonicThatStandsOut(t *testing.T) {
	l := Listener{Age: 80, Sex: Woman}
	n := audio.Note{Timbre: audio.NewTimbre(0.2, 1), From: 300, To: 600, Length: 2 * audio.Rate, Gain: 0.3, Sustain: 1}
	ms := Moments(n, l)
	assert.InDelta(t, 600, ms[0].Hz, 40, "the second harmonic of a rising tone")
	assert.InDelta(t, 1200, ms[len(ms)-1].Hz, 40)
	assert.Greater(t, Strongest(ms).Over(), Weakest(ms).Over())
	for age := 30; age < 80; age++ {
		younger, older := Listener{Age: age, Sex: Man}, Listener{Age: age + 1, Sex: Man}
		assert.Greater(t, younger.hears(n.Timbre, 500, 1, 0).OverHearing, older.hears(n.Timbre, 500, 1, 0).OverHearing)
	}
}

func TestListenersOutsideTheTablesAreRefused(t *testing.T) {
	require.NoError(t, Listener{Age: 80, Sex: Woman, NoiseDBA: 60}.Check())
	for want, l := range map[string]Listener{"the age is 17": {Age: 17, Sex: Man}, "the age is 81": {Age: 81, Sex: Man},
		`the sex is "x"`: {Age: 50, Sex: "x"}, "the noise is NaN": {Age: 50, Sex: Man, NoiseDBA: math.NaN()}} {
		assert.ErrorContains(t, l.Check(), want)
	}
}
