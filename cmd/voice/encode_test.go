package main

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio/loudness"
	"evenbell/audio/voice"
)

// hum is a tone between silences.
func hum(silence, sounding int, amp float64) []float64 {
	out := make([]float64, 2*silence+sounding)
	for i := range sounding {
		out[silence+i] = amp * math.Sin(2*math.Pi*440*float64(i)/voice.FileRate)
	}
	return out
}

func TestDelayIsFoundAndAnotherSoundRefused(t *testing.T) {
	clip := hum(0, 9000, 0.3)
	for i := range clip {
		clip[i] *= math.Sin(float64(i) / 900)
	}
	decoded := make([]int16, 1105+len(clip)+500)
	for i, x := range clip {
		decoded[1105+i] = int16(x * 32767)
	}
	at, err := delay(clip, decoded)
	require.NoError(t, err)
	assert.Equal(t, 1105, at)
	_, err = delay(hum(100, 8000, 0.3), make([]int16, 12000))
	require.ErrorContains(t, err, "not like the clip")
}

func TestMeasureReadsDecodedSamples(t *testing.T) {
	decoded := make([]int16, voice.FileRate)
	for i := range decoded {
		decoded[i] = int16(32767 * 0.5 * math.Sin(2*math.Pi*1000*float64(i)/voice.FileRate))
	}
	lufs, peak, err := measure(decoded)
	require.NoError(t, err)
	m, err := loudness.NewMeter(voice.FileRate, 1)
	require.NoError(t, err)
	for i := range 4 * voice.FileRate {
		m.Write([]float64{float64(decoded[i%len(decoded)]) / 32768})
	}
	assert.InDelta(t, m.Integrated(), lufs, 0.05)
	assert.InDelta(t, -6.02, peak, 0.05)
}
