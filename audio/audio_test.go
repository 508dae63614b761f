package audio_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio"
)

var sine = audio.NewTimbre(1)

func steady(hz float64, length int, gain float32) audio.Note {
	return audio.Note{Timbre: sine, From: hz, To: hz, Length: length, Gain: gain, Attack: 240, Release: 240, Sustain: 1}
}

// scene puts notes, clips and hushes of every kind into a mixer.
func scene(m *audio.Mixer) {
	clip := make([]int16, 7000)
	r := rand.New(rand.NewPCG(1, 2))
	for i := range clip {
		clip[i] = int16(r.IntN(20000) - 10000)
	}
	m.Note(0, audio.Note{Timbre: audio.NewTimbre(1, 0.5, 0.2), From: 370, To: 740, Length: 30000, Gain: 0.3, Attack: 240, Release: 900, Sustain: 0.5, Fade: 4000})
	m.Clip(5003, audio.NewClip(clip))
	m.Note(12001, steady(900, 4000, 0.2))
	m.Clip(20000, audio.NewClip(clip))
	m.Turn(1.4)
}

// stream mixes and limits in blocks of the sizes size gives.
func stream(total int, size func() int) []int16 {
	var m audio.Mixer
	var l audio.Limiter
	scene(&m)
	var out []int16
	for len(out) < total {
		buf := make([]float32, min(size(), total-len(out)))
		m.Mix(buf)
		l.Process(buf)
		pcm := make([]int16, len(buf))
		audio.PCM(pcm, buf)
		out = append(out, pcm...)
	}
	return out
}

func TestBlocksDoNotMatter(t *testing.T) {
	want := stream(40000, func() int { return 4096 })
	for _, n := range []int{1, 7, 64, 480, 1023, 40000} {
		require.Equal(t, want, stream(40000, func() int { return n }), "blocks of %d", n)
	}
	r := rand.New(rand.NewPCG(3, 4))
	require.Equal(t, want, stream(40000, func() int { return 1 + r.IntN(4096) }))
}

func TestCopyIsASnapshot(t *testing.T) {
	var m audio.Mixer
	scene(&m)
	m.Mix(make([]float32, 6000))
	c := m
	a, b := make([]float32, 20000), make([]float32, 20000)
	m.Mix(a)
	c.Mix(b)
	assert.Equal(t, a, b)
}

func TestSoundsStartOnTheirSample(t *testing.T) {
	var m audio.Mixer
	m.Note(1000, audio.Note{Timbre: audio.NewTimbre(0, 1), From: 440, To: 440, Length: 500, Gain: 0.5, Attack: 1, Release: 1, Sustain: 1})
	clip := []int16{100, 200, 300}
	m.Clip(2000, audio.NewClip(clip))
	buf := make([]float32, 3000)
	m.Mix(buf)
	for i, v := range buf {
		inside := i > 1000 && i < 1499 || i >= 2000 && i < 2003
		if !inside && i != 1000 && i != 1499 {
			require.Zero(t, v, "sample %d", i)
		}
	}
	assert.NotZero(t, buf[1001])
	assert.Equal(t, float32(200)/32768, buf[2001])
}

// A glide's phase is exact: the number of periods in it is the mean of its
// ends' frequencies times its length.
func TestGlideCountsItsPeriods(t *testing.T) {
	var m audio.Mixer
	m.Note(0, audio.Note{Timbre: sine, From: 370, To: 740, Length: 2 * audio.Rate, Gain: 0.5, Attack: 1, Release: 1, Sustain: 1})
	buf := make([]float32, 2*audio.Rate)
	m.Mix(buf)
	rising := 0
	for i := 1; i < len(buf); i++ {
		if buf[i-1] < 0 && buf[i] >= 0 {
			rising++
		}
	}
	assert.InDelta(t, (370+740)/2*2, rising, 1)
}

func TestHushIsSilentWithinTenMilliseconds(t *testing.T) {
	var m audio.Mixer
	scene(&m)
	m.Mix(make([]float32, 10000))
	m.Hush(10000)
	m.Note(12000, steady(500, 1000, 0.2))
	buf := make([]float32, 2600)
	m.Mix(buf)
	assert.NotZero(t, buf[10])
	for i := audio.Rate / 100; i < 2000; i++ {
		require.Zero(t, buf[i], "sample %d after the hush", i)
	}
	assert.NotZero(t, buf[2300], "what is added later sounds")
}

// No step between neighbouring samples is larger than the sounds themselves
// make: nothing clicks where it starts, ends, is hushed, ducked or turned.
func TestNoClicks(t *testing.T) {
	var m audio.Mixer
	m.Note(100, steady(300, 30000, 0.5))
	m.Clip(5000, audio.NewClip(make([]int16, 3000))) // silence that ducks
	m.Mix(make([]float32, 50))
	m.Turn(0.5)
	buf := make([]float32, 20000)
	m.Mix(buf[:15000])
	m.Hush(m.Pos())
	m.Mix(buf[15000:])
	largest := 0.5 * 2 * math.Pi * 300 / audio.Rate * 1.35
	for i := 1; i < len(buf); i++ {
		require.Less(t, math.Abs(float64(buf[i]-buf[i-1])), largest, "sample %d", i)
	}
}

func TestDuckingLowersNotesNotClips(t *testing.T) {
	level := func(speak bool) float64 {
		var m audio.Mixer
		m.Note(0, steady(440, 48000, 0.3))
		if speak {
			m.Clip(0, audio.NewClip(make([]int16, 48000)))
		}
		buf := make([]float32, 40000)
		m.Mix(buf)
		sum := 0.0
		for _, v := range buf[10000:] {
			sum += float64(v) * float64(v)
		}
		return math.Sqrt(sum / 30000)
	}
	assert.InDelta(t, -9.0, 20*math.Log10(level(true)/level(false)), 0.1)
}

// truePeak is the highest point of the band-limited signal, by a long sinc at
// sixteen points a sample: an oracle independent of the limiter's short filter.
func truePeak(x []float32) float64 {
	const half, points = 48, 16
	peak := 0.0
	for i := half; i < len(x)-half; i++ {
		if math.Abs(float64(x[i])) < 0.5 {
			continue
		}
		for p := range points {
			frac, v := float64(p)/points, 0.0
			for k := -half + 1; k <= half; k++ {
				d := float64(k) - frac
				s := 1.0
				if d != 0 {
					s = math.Sin(math.Pi*d) / (math.Pi * d)
				}
				v += float64(x[i+k]) * s * (0.5 + 0.5*math.Cos(math.Pi*d/(half+1)))
			}
			peak = max(peak, math.Abs(v))
		}
	}
	return 20 * math.Log10(peak)
}

func TestLimiterKeepsTheTruePeak(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	var sines [40]float64
	for i := range sines {
		sines[i] = 11500 * r.Float64()
	}
	for name, wave := range map[string]func(i int) float32{
		"loud tone":                 func(i int) float32 { return float32(1.9 * math.Sin(2*math.Pi*997*float64(i)/audio.Rate)) },
		"quarter rate, worst phase": func(i int) float32 { return float32(1.2 * math.Sin(math.Pi/2*float64(i)+math.Pi/4)) },
		// Noise as high as anything here goes: clips have nothing over 12 kHz.
		"noise bursts": func(i int) float32 {
			if i/3000%2 == 0 {
				return 0.05
			}
			v := 0.0
			for _, s := range sines {
				v += math.Sin(2*math.Pi*s*float64(i)/audio.Rate + s)
			}
			return float32(0.25 * v)
		},
		"one click": func(i int) float32 {
			if i == 5000 {
				return 3
			}
			return 0.1
		},
	} {
		t.Run(name, func(t *testing.T) {
			var l audio.Limiter
			buf := samples(20000, wave)
			l.Process(buf)
			assert.LessOrEqual(t, truePeak(buf), -1.0, "dBTP")
		})
	}
}

func samples(n int, f func(int) float32) []float32 {
	buf := make([]float32, n)
	for i := range buf {
		buf[i] = f(i)
	}
	return buf
}

func TestLimiterLeavesQuietSoundAlone(t *testing.T) {
	var l audio.Limiter
	in := samples(5000, func(i int) float32 { return float32(0.7 * math.Sin(2*math.Pi*500*float64(i)/audio.Rate)) })
	out := append([]float32(nil), in...)
	l.Process(out)
	assert.Equal(t, in[:5000-audio.Lookahead], out[audio.Lookahead:])
}

func TestMixingAllocatesNothing(t *testing.T) {
	var m audio.Mixer
	var l audio.Limiter
	scene(&m)
	buf, pcm := make([]float32, 480), make([]int16, 480)
	assert.Zero(t, testing.AllocsPerRun(40, func() {
		m.Mix(buf)
		l.Process(buf)
		audio.PCM(pcm, buf)
	}))
}

func BenchmarkMix(b *testing.B) {
	var m audio.Mixer
	var l audio.Limiter
	buf, pcm := make([]float32, 1024), make([]int16, 1024)
	b.ReportAllocs()
	for b.Loop() {
		if !m.Sounding() {
			m = audio.Mixer{}
			scene(&m)
		}
		m.Mix(buf)
		l.Process(buf)
		audio.PCM(pcm, buf)
	}
	b.ReportMetric(float64(b.N)*1024/audio.Rate/b.Elapsed().Seconds(), "x-real-time")
}
