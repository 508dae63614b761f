package loudness

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The coefficients at 48 kHz as ITU-R BS.1770 prints them.
func TestWeightingIsThePublishedOneAt48kHz(t *testing.T) {
	s, h := shelf(48000), highPass(48000)
	for _, row := range []struct{ got, want float64 }{
		{s.b0, 1.53512485958697}, {s.b1, -2.69169618940638}, {s.b2, 1.19839281085285},
		{s.a1, -1.69065929318241}, {s.a2, 0.73248077421585},
		{h.a1, -1.99004745483398}, {h.a2, 0.99007225036621},
	} {
		assert.InDelta(t, row.want, row.got, 2e-11)
	}
}

type part struct{ seconds, level float64 }

// tone writes stereo 1 kHz in parts of given peak level in dBFS.
func tone(t testing.TB, rate int, parts ...part) *Meter {
	t.Helper()
	m, err := NewMeter(rate, 2)
	require.NoError(t, err)
	n := 0
	for _, p := range parts {
		amp := math.Pow(10, p.level/20)
		for range int(p.seconds * float64(rate)) {
			x := amp * math.Sin(2*math.Pi*1000*float64(n)/float64(rate))
			m.Write([]float64{x, x})
			n++
		}
	}
	return m
}

// EBU Tech 3341, minimum requirements, cases 1 to 5: ±0.1 LU.
func TestToneCases(t *testing.T) {
	for _, row := range []struct {
		name  string
		parts []part
		want  float64
	}{
		{"1", []part{{20, -23}}, -23},
		{"2", []part{{20, -33}}, -33},
		{"3", []part{{10, -36}, {60, -23}, {10, -36}}, -23},
		{"4", []part{{10, -72}, {10, -36}, {60, -23}, {10, -36}, {10, -72}}, -23},
		{"5", []part{{20, -26}, {20.1, -20}, {20, -26}}, -23},
	} {
		for _, rate := range []int{48000, 44100, 24000} {
			assert.InDelta(t, row.want, tone(t, rate, row.parts...).Integrated(), 0.1, "case %s at %d", row.name, rate)
		}
	}
}

// EBU Tech 3342, cases 1 and 2 (from memory): two tones of 20 s, the range is
// their difference, ±1 LU.
func TestRangeCases(t *testing.T) {
	assert.InDelta(t, 10, tone(t, 48000, part{20, -20}, part{20, -30}).Range(), 1)
	assert.InDelta(t, 5, tone(t, 48000, part{20, -20}, part{20, -15}).Range(), 1)
}

// A sine at a quarter of the rate, 45° off, touches its peak only between the
// samples, which read 3.01 dB too low.
func TestTruePeakSeesBetweenTheSamples(t *testing.T) {
	m, err := NewMeter(48000, 1)
	require.NoError(t, err)
	for n := range 4800 {
		fade := math.Min(1, math.Min(float64(n), float64(4800-n))/480)
		m.Write([]float64{0.5 * fade * math.Sin(math.Pi/2*float64(n)+math.Pi/4)})
	}
	assert.InDelta(t, 20*math.Log10(0.5), m.TruePeak(), 0.1)
}

func TestNothingIsSilence(t *testing.T) {
	m, err := NewMeter(48000, 1)
	require.NoError(t, err)
	assert.Equal(t, Silence, m.Integrated())
	assert.Zero(t, m.Range())
	assert.True(t, math.IsInf(m.TruePeak(), -1))
	_, err = NewMeter(1, 1)
	require.ErrorContains(t, err, "8000 to 384000")
}

func TestWritesMayBeCutAnywhere(t *testing.T) {
	sound := noise(48000 * 2)
	whole, _ := NewMeter(48000, 1)
	whole.Write(sound)
	cut, _ := NewMeter(48000, 1)
	for len(sound) > 0 {
		n := min(len(sound), 777)
		cut.Write(sound[:n])
		sound = sound[n:]
	}
	assert.Equal(t, whole.Integrated(), cut.Integrated())
	assert.Equal(t, whole.TruePeak(), cut.TruePeak())
}

// noise is coloured noise that swells and fades, so that gates and range have
// something to do.
func noise(n int) []float64 {
	rnd := rand.New(rand.NewPCG(1, 2))
	out := make([]float64, n)
	y := 0.0
	for i := range out {
		y += 0.2 * (rnd.Float64()*2 - 1 - y)
		swell := 0.1 + 0.9*math.Pow(math.Sin(math.Pi*float64(i)/48000/7), 2)
		out[i] = math.Round(y*swell*1.2*32767) / 32768
	}
	return out
}

func TestAgainstFfmpeg(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatal("ffmpeg is needed here")
		}
		t.Skip("ffmpeg is not installed")
	}
	sound := noise(48000 * 30)
	raw := make([]byte, 0, 2*len(sound))
	for _, x := range sound {
		raw = binary.LittleEndian.AppendUint16(raw, uint16(int16(math.Round(x*32768))))
	}
	path := filepath.Join(t.TempDir(), "noise.raw")
	require.NoError(t, os.WriteFile(path, raw, 0o600))
	out, err := exec.Command(ffmpeg, "-hide_banner", "-f", "s16le", "-ar", "48000", "-ac", "1", "-i", path,
		"-af", "ebur128=peak=true", "-f", "null", "-").CombinedOutput()
	require.NoError(t, err, string(out))
	m, err := NewMeter(48000, 1)
	require.NoError(t, err)
	m.Write(sound)
	assert.InDelta(t, figure(t, out, `I:\s+(-?[\d.]+) LUFS`), m.Integrated(), 0.1)
	assert.InDelta(t, figure(t, out, `LRA:\s+([\d.]+) LU\n`), m.Range(), 0.3)
	assert.InDelta(t, figure(t, out, `Peak:\s+(-?[\d.]+) dBFS`), m.TruePeak(), 0.15)
}

// figure is the last match, which is in ffmpeg's summary.
func figure(t *testing.T, out []byte, pattern string) float64 {
	t.Helper()
	all := regexp.MustCompile(pattern).FindAllSubmatch(out, -1)
	require.NotEmpty(t, all, fmt.Sprintf("no %s in %s", pattern, out))
	f, err := strconv.ParseFloat(string(all[len(all)-1][1]), 64)
	require.NoError(t, err)
	return f
}

func BenchmarkMeter(b *testing.B) {
	sound := noise(48000)
	m, _ := NewMeter(48000, 1)
	for b.Loop() {
		m.Write(sound)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "x-real-time")
}
