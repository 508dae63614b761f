package station_test

import (
	"encoding/binary"
	"io"
	"math"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio/loudness"
	"evenbell/audio/sink"
	"evenbell/coach"
)

// An independent onset detector (aubioonset of Debian's aubio-tools, spectral
// flux, hop 256) finds every lift and lower of a whole session. Its own lag is
// the median of its errors; around that none is off by more than its hop, and
// over the session the errors do not drift.
func TestAubioHearsEveryMovement(t *testing.T) {
	t.Parallel()
	aubio := peer(t, "aubioonset")
	const hop = 256.0 / 48000
	for _, guide := range []coach.Guide{coach.GuideTones, coach.GuideBoth} {
		t.Run(string(guide), func(t *testing.T) {
			t.Parallel()
			prog := demo(t)
			prog.Guide = guide
			if guide == coach.GuideTones { // half of it is time enough to drift
				prog.Items, prog.WarmUp, prog.CoolDown = prog.Items[:4], 15*time.Second, 15*time.Second
			}
			_, sp := voice(t)
			file := filepath.Join(t.TempDir(), "session.wav")
			out, err := sink.NewWAV(file)
			require.NoError(t, err)
			heard := stream(config(prog, sp), 4096, func(b []int16) { require.NoError(t, out.Write(b)) })
			require.NoError(t, out.Close())
			found, err := exec.Command(aubio, "-i", file, "-O", "specflux", "-B", "1024", "-H", "256").Output()
			require.NoError(t, err)
			var onsets []float64
			for line := range strings.Lines(string(found)) {
				s, err := strconv.ParseFloat(strings.Fields(line)[0], 64)
				require.NoError(t, err)
				onsets = append(onsets, s)
			}
			var at, off []float64
			for _, c := range heard.Cues {
				if c.Kind == coach.CueLift || c.Kind == coach.CueLower {
					s := float64(c.At) / 48000
					at, off = append(at, s), append(off, nearest(onsets, s)-s)
				}
			}
			require.Greater(t, len(at), 60)
			lag := median(off)
			worst := 0.0
			for i := range off {
				require.InDelta(t, lag, off[i], hop, "movement at %.3f s", at[i])
				worst = max(worst, math.Abs(off[i]-lag))
			}
			slope := regression(at, off)
			drift := slope * (at[len(at)-1] - at[0])
			t.Logf("%d movements, lag %.2f ms, jitter at most %.2f ms (hop %.2f ms), drift %.2f ms over %.0f s",
				len(at), 1000*lag, 1000*worst, 1000*hop, 1000*drift, at[len(at)-1]-at[0])
			assert.InDelta(t, 0, drift, 0.001, "drift over the session in seconds")
		})
	}
}

func nearest(sorted []float64, x float64) float64 {
	i, _ := slices.BinarySearch(sorted, x)
	best := math.Inf(1)
	for _, k := range []int{i - 1, i} {
		if k >= 0 && k < len(sorted) && math.Abs(sorted[k]-x) < math.Abs(best-x) {
			best = sorted[k]
		}
	}
	return best
}

func median(xs []float64) float64 {
	s := slices.Sorted(slices.Values(xs))
	return s[len(s)/2]
}

// regression is the slope of least squares.
func regression(x, y []float64) float64 {
	var sx, sy, sxx, sxy float64
	n := float64(len(x))
	for i := range x {
		sx, sy, sxx, sxy = sx+x[i], sy+y[i], sxx+x[i]*x[i], sxy+x[i]*y[i]
	}
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}

// ebur128 is what ffmpeg measures: integrated loudness in LUFS, true peak in
// dBTP and loudness range in LU. play writes the samples.
func ebur128(t *testing.T, ffmpeg string, play func(io.Writer)) (integrated, peak, spread float64) {
	t.Helper()
	c := exec.Command(ffmpeg, "-nostats", "-hide_banner", "-f", "s16le", "-ar", "48000", "-ac", "1", "-i", "-",
		"-filter_complex", "ebur128=peak=true:framelog=verbose", "-f", "null", "-")
	in, err := c.StdinPipe()
	require.NoError(t, err)
	var said strings.Builder
	c.Stderr = &said
	require.NoError(t, c.Start())
	play(in)
	require.NoError(t, in.Close())
	require.NoError(t, c.Wait())
	read := func(pattern string) float64 {
		m := regexp.MustCompile(pattern).FindAllStringSubmatch(said.String(), -1)
		require.NotEmpty(t, m, said.String())
		v, err := strconv.ParseFloat(m[len(m)-1][1], 64)
		require.NoError(t, err)
		return v
	}
	return read(`I:\s+(-?[\d.]+) LUFS`), read(`Peak:\s+(-?[\d.]+) dBFS`), read(`LRA:\s+([\d.]+) LU`)
}

// A session at the reference level lies between -20 and -16 LUFS, about as
// loud as the voice pack's clips (-16 LUFS) with the quieter tones between
// them; its true peak is at most -1 dBTP, also with the volume pressed up as
// far as it goes. ffmpeg's ebur128 measures, and our own meter agrees.
func TestLoudnessAndTruePeak(t *testing.T) {
	t.Parallel()
	ffmpeg := peer(t, "ffmpeg")
	up := []coach.Press{}
	for i := range 4 { // during the warm-up, where plus is the volume
		up = append(up, coach.Press{Button: coach.Plus, At: coach.Samples(48000 * (50 + 2*i))})
	}
	for name, c := range map[string]struct {
		presses  []coach.Press
		from, to float64
	}{
		"reference": {nil, -20, -16},
		"loudest":   {up, -16, -9},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, sp := voice(t)
			prog := demo(t)
			prog.Items, prog.CoolDown = prog.Items[:4], 15*time.Second
			cfg := config(prog, sp)
			cfg.Presses = c.presses
			meter, err := loudness.NewMeter(48000, 1)
			require.NoError(t, err)
			integrated, peak, spread := ebur128(t, ffmpeg, func(w io.Writer) {
				volume := 0
				h := stream(cfg, 4096, func(b []int16) {
					require.NoError(t, binary.Write(w, binary.LittleEndian, b))
					meter.Write(scaled(b))
				})
				for _, e := range h.Entries {
					if d, ok := e.Data.(*coach.VolumeData); ok {
						volume = d.DB
					}
				}
				require.Equal(t, c.presses != nil, volume == 6, "the volume came to %d dB", volume)
			})
			t.Logf("ffmpeg: %.1f LUFS, %.1f dBTP, range %.1f LU; own meter: %.2f LUFS, %.2f dBTP, %.2f LU",
				integrated, peak, spread, meter.Integrated(), meter.TruePeak(), meter.Range())
			assert.GreaterOrEqual(t, integrated, c.from)
			assert.LessOrEqual(t, integrated, c.to)
			assert.LessOrEqual(t, peak, -1.0)
			assert.InDelta(t, integrated, meter.Integrated(), 0.1)
			assert.InDelta(t, peak, meter.TruePeak(), 0.2)
			assert.InDelta(t, spread, meter.Range(), 0.5)
			// Even enough that nothing startles and nothing is lost: common
			// practice for speech in a noisy room, no source.
			assert.LessOrEqual(t, spread, 8.0)
			assert.GreaterOrEqual(t, spread, 1.0, "the sounds are not all alike")
		})
	}
}

func scaled(b []int16) []float64 {
	out := make([]float64, len(b))
	for i, v := range b {
		out[i] = float64(v) / 32768
	}
	return out
}
