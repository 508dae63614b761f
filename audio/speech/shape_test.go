package speech

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// burst is a tone between silences.
func burst(silence, sounding int, amp float64) []float64 {
	out := make([]float64, 2*silence+sounding)
	for i := range sounding {
		out[silence+i] = amp * math.Sin(2*math.Pi*440*float64(i)/Rate)
	}
	return out
}

func TestTrimKeepsTheSoundAndLittleElse(t *testing.T) {
	clip, err := trim(burst(5000, 12000, 0.3))
	require.NoError(t, err)
	assert.InDelta(t, Before+12000+after, len(clip), 2*window)
	assert.Zero(t, clip[0])
	assert.InDelta(t, 0, clip[len(clip)-1], 1e-9)
	_, err = trim(make([]float64, 1000))
	require.ErrorContains(t, err, "nothing but silence")
}

func TestShapeReachesTheLoudnessUnderTheCeiling(t *testing.T) {
	for _, amp := range []float64{0.01, 0.3, 0.9} {
		clip, err := Shape(burst(2000, 9000, amp))
		require.NoError(t, err)
		level, err := Loudness(clip)
		require.NoError(t, err)
		assert.InDelta(t, TargetLUFS, level, 0.1)
	}
}

// Speech has peaks far over its loudness: the limiter holds them at the
// ceiling and turns the gain without a step.
func TestLimiterHoldsEveryPeak(t *testing.T) {
	clip := burst(0, 9000, 0.1)
	for i := 1000; i < 9000; i += 1500 {
		clip[i] = 0.9
	}
	out := limit(clip, 3)
	ceiling := math.Pow(10, ceilingDB/20)
	for i, x := range out {
		require.LessOrEqual(t, math.Abs(x), ceiling+1e-12, "sample %d", i)
	}
	assert.InDelta(t, ceiling, out[1000], 1e-9)
	assert.InDelta(t, 3*clip[500], out[500], 1e-9, "untouched away from the peaks")
	quiet := burst(0, 9000, 0.1)
	assert.InDeltaSlice(t, quiet, limit(quiet, 1), 1e-12, "untouched under the ceiling")
}
