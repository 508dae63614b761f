package speech

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"evenbell/audio/loudness"
	"evenbell/audio/voice"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// need skips where a program is absent, or fails where peers are required.
func need(t testing.TB, program string) {
	t.Helper()
	if _, err := exec.LookPath(program); err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatalf("%s is needed here", program)
		}
		t.Skipf("%s is not installed", program)
	}
}

// parrot says every text as one tone, as many tenths of a second as it has
// letters, or fails.
type parrot struct {
	said *int
	err  error
}

func (parrot) Name() string { return "parrot" }
func (p parrot) Speak(_ context.Context, text string) ([]float64, error) {
	*p.said++
	return burst(1000, Rate/10*len(text), 0.1), p.err
}

func TestTheSameWordsAreSpokenOnce(t *testing.T) {
	said, dir := 0, filepath.Join(t.TempDir(), "cache")
	typed := NewTyped(dir, []Engine{parrot{said: &said}})
	first, err := typed.Say(t.Context(), "Mind the knee.")
	require.NoError(t, err)
	again, err := typed.Say(t.Context(), "  Mind  the knee.")
	require.NoError(t, err)
	assert.Equal(t, first, again)
	assert.Equal(t, 1, said)
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(t, err)
	require.Len(t, files, 1)
	info, err := os.Stat(files[0])
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm(), "what was typed about a person is nobody else's to read")

	for name, damage := range map[string]func([]byte) []byte{
		"cut":     func(b []byte) []byte { return b[:len(b)-2] },
		"flipped": func(b []byte) []byte { b[len(b)/2] ^= 1; return b },
		"empty":   func([]byte) []byte { return nil },
	} {
		data, err := os.ReadFile(files[0])
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(files[0], damage(data), 0o600))
		before := said
		again, err = typed.Say(t.Context(), "Mind the knee.")
		require.NoError(t, err, name)
		assert.Equal(t, first, again, name)
		assert.Equal(t, before+1, said, "%s: a damaged clip is spoken again", name)
	}
}

func TestTheCacheStaysSmall(t *testing.T) {
	said, dir := 0, t.TempDir()
	typed := NewTyped(dir, []Engine{parrot{said: &said}})
	for n := range mostKept + 10 {
		_, err := typed.Say(t.Context(), "n"+strconv.Itoa(n))
		require.NoError(t, err)
	}
	names, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, names, mostKept)
}

func TestACacheThatCannotBeWrittenOnlyCostsTime(t *testing.T) {
	said := 0
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	typed := NewTyped(filepath.Join(file, "below"), []Engine{parrot{said: &said}})
	for range 2 {
		_, err := typed.Say(t.Context(), "Mind the knee.")
		require.NoError(t, err)
	}
	assert.Equal(t, 2, said)
}

func TestNobodyCanSpeak(t *testing.T) {
	said := 0
	_, err := NewTyped(t.TempDir(), nil).Say(t.Context(), "hello")
	require.ErrorIs(t, err, ErrNoEngine)
	broken := parrot{said: &said, err: errors.New("no breath")}
	_, err = NewTyped(t.TempDir(), []Engine{broken}).Say(t.Context(), "hello")
	require.ErrorContains(t, err, "no breath")
	_, err = NewTyped(t.TempDir(), []Engine{broken, parrot{said: &said}}).Say(t.Context(), "hello")
	require.NoError(t, err, "the next one is asked")
	_, err = NewTyped(t.TempDir(), []Engine{broken}).Say(t.Context(), "\x00")
	require.ErrorIs(t, err, ErrUnspeakable)
	assert.Empty(t, Installed("xx"))
}

// Every installed engine of every language speaks an ordinary note, and the
// clip is as a pack's would be.
func TestRealEnginesSpeak(t *testing.T) {
	need(t, "flite")
	need(t, "espeak-ng")
	for lang, all := range engines {
		assert.Len(t, Installed(lang), len(all))
		for _, e := range all {
			began := time.Now()
			pcm, err := NewTyped(t.TempDir(), []Engine{e}).Say(t.Context(), "Please mind your left knee today.")
			require.NoError(t, err, e.Name())
			t.Logf("%s: %.1f s of sound in %d ms", e.Name(), float64(len(pcm))/voice.Rate, time.Since(began).Milliseconds())
			assert.Greater(t, len(pcm), voice.Rate)
			assert.Less(t, len(pcm), 6*voice.Rate)
			m, err := loudness.NewMeter(voice.Rate, 1)
			require.NoError(t, err)
			loud, first := make([]float64, len(pcm)), -1
			for i, x := range pcm {
				loud[i] = float64(x) / 32768
				if first < 0 && math.Abs(loud[i]) > 0.005 {
					first = i
				}
			}
			m.Write(loud)
			m.Write(loud)
			assert.InDelta(t, TargetLUFS, m.Integrated(), 1, e.Name())
			assert.Less(t, m.TruePeak(), 0.0)
			assert.Less(t, first, voice.Rate*5/1000, "%s begins late", e.Name())
		}
	}
}

// Nothing that can be typed is a switch, a phoneme or a mark-up of an engine,
// makes it fail in a way that is not an error, or goes on for ever.
func TestNothingTypedBreaksAnEngine(t *testing.T) {
	need(t, "flite")
	need(t, "espeak-ng")
	for _, text := range []string{
		"-h", "--help", "-o /tmp/evenbell-must-not-exist.wav x", "-w x", "--path=/etc", "a", "1", ".a.", "'", "%s%n%s%n",
		"[[h@l'oU]] [[", "<audio src=\"/etc/passwd\"/>x", "999999999999999999999999999999999999999999999999", "1/0 50% &amp; (((((((",
		strings.Repeat("w", LongestText), strings.Repeat("a ", LongestText/2), strings.Repeat("9", LongestText),
		strings.Repeat("?!", 99) + "no", "ñandú está aquí", "ŁÓDŹ ŻÓŁĆ", "ǅ ﬁ ª º",
	} {
		for lang := range engines {
			pcm, err := NewTyped(t.TempDir(), Installed(lang)).Say(t.Context(), text)
			if err == nil {
				assert.NotEmpty(t, pcm, "%s %q", lang, text)
				assert.LessOrEqual(t, len(pcm), 60*voice.Rate)
			}
		}
	}
	assert.NoFileExists(t, "/tmp/evenbell-must-not-exist.wav")
}

// script is a program that does something other than speak.
func script(t *testing.T, body string) program {
	file := filepath.Join(t.TempDir(), "engine")
	require.NoError(t, os.WriteFile(file, []byte("#!/bin/sh\n"+body), 0o700))
	return program{name: file, args: func(out string) []string { return []string{out} }, stdin: "hello"}
}

func TestAProgramThatMisbehavesIsAnError(t *testing.T) {
	for body, want := range map[string]string{
		"exit 3":                         "exit status 3",
		"echo no voice >&2; exit 1":      "no voice",
		"true":                           "no such file",
		"echo nonsense > $1":             "reading a WAV file",
		"yes | head -c 50000000; exit 1": "exit status 1",
		"exec yes > $1":                  "file size limit exceeded",
	} {
		_, err := script(t, body).speak(t.Context())
		assert.ErrorContains(t, err, want, body)
	}
	ctx, stop := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer stop()
	_, err := script(t, "sleep 60 & sleep 60").speak(ctx)
	assert.ErrorContains(t, err, "killed", "with whatever it started")
	_, err = program{name: "/no/such/engine", args: func(string) []string { return nil }}.speak(t.Context())
	assert.ErrorContains(t, err, "no such file")
}

// wavFile is a WAV file of so many samples of 16 bits.
func wavFile(rate, channels int, samples []int16) []byte {
	var b bytes.Buffer
	b.WriteString("RIFF")
	for _, v := range []any{uint32(36 + 2*len(samples)), []byte("WAVEfmt "), uint32(16), uint16(1), uint16(channels), uint32(rate),
		uint32(2 * channels * rate), uint16(2 * channels), uint16(16), []byte("data"), uint32(2 * len(samples)), samples} {
		_ = binary.Write(&b, binary.LittleEndian, v)
	}
	return b.Bytes()
}

func TestReadWAV(t *testing.T) {
	for _, rate := range []int{8000, 16000, 22050, 44100, 48000} {
		for _, channels := range []int{1, 2} {
			samples := make([]int16, rate*channels)
			for i := range samples {
				samples[i] = 8192
			}
			got, err := ReadWAV(bytes.NewReader(wavFile(rate, channels, samples)))
			require.NoError(t, err)
			assert.InDelta(t, Rate, len(got), 40)
			assert.InDelta(t, 0.25, got[len(got)/2], 0.001)
		}
	}
	for want, data := range map[string][]byte{
		"cut off: its part \"LIST\"": append([]byte("RIFFxxxxWAVELIST"), 0xff, 0xff, 0xff, 0x7f),
		"4000 samples a second":      wavFile(4000, 1, make([]int16, 100)),
		"longer than a minute":       wavFile(8000, 1, make([]int16, 8000*61)),
		"reading a WAV file":         []byte("RIFFxxxxWAVE"),
		"reading a WAV file: ":       {},
	} {
		_, err := ReadWAV(bytes.NewReader(data))
		assert.ErrorContains(t, err, want)
	}
}

func FuzzReadWAV(f *testing.F) {
	f.Add(wavFile(16000, 1, []int16{1, 2, 3, 4}))
	f.Add(wavFile(44100, 2, make([]int16, 64))[:50])
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		sound, err := ReadWAV(bytes.NewReader(data))
		if err == nil {
			require.LessOrEqual(t, len(sound), longestSpeech)
		}
	})
}

// FuzzSay: any text at all gives sound within bounds, or an error.
func FuzzSay(f *testing.F) {
	f.Add("Mind the knee.")
	f.Add("\x00")
	f.Fuzz(func(t *testing.T, text string) {
		said := 0
		pcm, err := NewTyped(t.TempDir(), []Engine{parrot{said: &said}}).Say(t.Context(), text)
		require.Equal(t, err != nil, len(pcm) == 0)
	})
}

func BenchmarkSay(b *testing.B) {
	need(b, "flite")
	for b.Loop() {
		_, err := speak(b.Context(), engines["en"][0], "Please mind your left knee today.")
		require.NoError(b, err)
	}
}

// What lies above half of Rate is taken out before it could be folded down to
// where it is heard; what lies below goes through.
func TestNothingIsFoldedDown(t *testing.T) {
	for _, rate := range []int{44_100, 48_000, 96_000} {
		for hz, heard := range map[float64]bool{1_000: true, 9_000: true, 12_100: false, 13_000: false, 18_000: false} {
			pcm := make([]int16, rate)
			for i := range pcm {
				pcm[i] = int16(16_000 * math.Sin(2*math.Pi*hz*float64(i)/float64(rate)))
			}
			got, err := ReadWAV(bytes.NewReader(wavFile(rate, 1, pcm)))
			require.NoError(t, err)
			sum := 0.0
			for _, x := range got[Rate/4 : 3*Rate/4] {
				sum += x * x
			}
			level := 20 * math.Log10(math.Sqrt(sum/(Rate/2))*math.Sqrt2/(16_000.0/32_768))
			if heard {
				assert.InDelta(t, 0, level, 0.2, "%v Hz at %d", hz, rate)
			} else {
				assert.Less(t, level, -60.0, "%v Hz at %d", hz, rate)
			}
		}
	}
}
