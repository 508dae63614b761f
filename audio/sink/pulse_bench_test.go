package sink

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/audio/clock"
)

// BenchmarkPulseDropToSilence plays a tone, drops it at an arbitrary moment,
// goes on with silence, and finds in a recording of the output how much of the
// tone came after the sample that was being heard when Drop was called. It
// also reports how long the call of Drop itself took.
func BenchmarkPulseDropToSilence(b *testing.B) {
	s := startServer(b, "room")
	var over, calls []float64
	for round := 0; b.Loop(); {
		for range 40 {
			o, c := dropToSilence(b, s, round)
			over, calls = append(over, o), append(calls, c)
			round++
		}
	}
	slices.Sort(over)
	slices.Sort(calls)
	b.ReportMetric(0, "ns/op") // says nothing here
	b.ReportMetric(over[len(over)/2], "median-ms")
	b.ReportMetric(over[len(over)-1], "worst-ms")
	b.ReportMetric(calls[len(calls)/2], "call-median-ms")
	b.ReportMetric(calls[len(calls)-1], "call-worst-ms")
	b.ReportMetric(float64(len(over)), "drops")
}

// dropToSilence gives both figures of one drop, in milliseconds.
func dropToSilence(b *testing.B, s *server, round int) (over, call float64) {
	tape := s.record("room")
	p, err := NewPulse(s.address())
	require.NoError(b, err)
	require.NoError(b, p.Write(make([]int16, Rate/10)))
	written := 0
	for i := range 30 + round%8 {
		require.NoError(b, p.Write(ramp(480*i, 480)))
		written += 480
	}
	time.Sleep(time.Duration(round%7) * time.Millisecond)
	delay, err := p.Delay()
	require.NoError(b, err)
	begin := time.Now()
	_, err = p.Drop()
	call = float64(time.Since(begin)) / float64(time.Millisecond)
	require.NoError(b, err)
	require.NoError(b, p.Write(make([]int16, Rate/5)))
	require.NoError(b, p.Close())
	heard := tape.stop()
	tone := len(heard) - count(heard, 0)
	return float64(tone-(written-delay)) / (Rate / 1000), call
}

// BenchmarkPulseClock plays ten seconds and reports how well the samples being
// heard are known: how far what the server says lies from the line laid
// through it (the residual, after each block), and the rate of its output.
func BenchmarkPulseClock(b *testing.B) {
	s := startServer(b, "room")
	p, err := NewPulse(s.address())
	require.NoError(b, err)
	c := clock.New(Rate)
	begin, written := time.Now(), int64(0)
	var residuals []time.Duration
	for b.Loop() {
		for range 1000 {
			require.NoError(b, p.Write(make([]int16, 480)))
			written += 480
			asked := time.Since(begin)
			delay, err := p.Delay()
			require.NoError(b, err)
			c.Add((asked+time.Since(begin))/2, written, int64(delay))
			residuals = append(residuals, c.Residual())
		}
	}
	require.NoError(b, p.Close())
	b.ReportMetric(0, "ns/op") // says nothing here
	slices.Sort(residuals)
	b.ReportMetric(float64(residuals[len(residuals)/2])/float64(time.Millisecond), "median-residual-ms")
	b.ReportMetric(float64(residuals[len(residuals)-1])/float64(time.Millisecond), "worst-residual-ms")
	b.ReportMetric(c.Rate(), "samples/s")
	b.ReportMetric(float64(Underruns(p)), "underruns")
}
