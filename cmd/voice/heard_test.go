package main

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio/loudness"
	"evenbell/audio/voice"
	"evenbell/coach"
)

const (
	heardRate = 16000 // samples a second the recogniser takes
	models    = "/usr/share/pocketsphinx/model/en-us/"
)

// The numbers of a count from 0 to 60, each by itself, as a dated recogniser
// hears them with a grammar of just those: a figure to notice a change for the
// worse by, not a measure of people. The noise is babble: sixteen streams of
// the pack's own sentences, begun at random, as loud as the ratio says.
func TestARecogniserHearsTheNumbers(t *testing.T) {
	need(t, "pocketsphinx_batch")
	if _, err := os.Stat(models + "cmudict-en-us.dict"); err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatal("the recogniser's English model is needed here")
		}
		t.Skip("the recogniser's English model is not installed")
	}
	words, clips := numbers(t)
	noise := babble(t)
	for _, row := range []struct {
		name  string
		snr   float64 // decibels
		least int     // of 61
	}{
		{"clean", math.Inf(1), 58}, {"babble at 15 dB", 15, 50}, {"babble at 10 dB", 10, 42}, {"babble at 5 dB", 5, 22},
	} {
		noisy := make([][]float64, len(clips))
		for i, c := range clips {
			noisy[i] = mixed(c, noise[i*heardRate/2:], row.snr)
		}
		right := 0
		for i, got := range recognised(t, words, noisy) {
			if got == words[i] {
				right++
			} else {
				t.Logf("%s: %q was heard as %q", row.name, words[i], got)
			}
		}
		t.Logf("%s: %d of %d numbers heard right", row.name, right, len(words))
		assert.GreaterOrEqual(t, right, row.least, row.name)
	}
}

// numbers are the words and the sound, at heardRate, of the count.
func numbers(t *testing.T) (words []string, clips [][]float64) {
	p, s := builtIn(t, "en")
	store := voice.NewStore(p, 1<<20)
	defer store.Close()
	for n := range 61 {
		c := s.Say(coach.Phrase{ID: coach.SayCount, N: n})[0]
		words = append(words, strings.ReplaceAll(c.Text, "-", " "))
		clip, err := store.Get(c.ID)
		require.NoError(t, err)
		clips = append(clips, third(clip.Samples()))
	}
	return words, clips
}

// third is a clip at 16 kHz; the voice has nothing above 8 kHz.
func third(samples []int16) []float64 {
	var out []float64
	for i := 0; i < len(samples); i += voice.Rate / heardRate {
		out = append(out, float64(samples[i])/32768)
	}
	return out
}

// babble is 40 seconds of many talkers, the same every time.
func babble(t *testing.T) []float64 {
	const talkers, length = 16, 40 * heardRate
	p, _ := builtIn(t, "en")
	store := voice.NewStore(p, 1<<20)
	defer store.Close()
	r := rand.New(rand.NewPCG(4, 4))
	clips := p.Manifest().Clips
	out := make([]float64, length)
	for range talkers {
		for at := -r.IntN(2 * heardRate); at < length; {
			clip, err := store.Get(clips[r.IntN(len(clips))].ID)
			require.NoError(t, err)
			for _, x := range third(clip.Samples()) {
				if at >= 0 && at < length {
					out[at] += x
				}
				at++
			}
		}
	}
	return out
}

// mixed is a clip with a fifth of a second around it, and noise under all of
// it so much quieter than the clip, both measured as the mean square.
func mixed(clip, noise []float64, snr float64) []float64 {
	const around = heardRate / 5
	out := make([]float64, len(clip)+2*around)
	gain := math.Sqrt(power(clip)/power(noise[:len(out)])) * math.Pow(10, -snr/20)
	for i := range out {
		out[i] = gain * noise[i]
	}
	for i, x := range clip {
		out[around+i] += x
	}
	return out
}

func power(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return sum / float64(len(x))
}

// recognised is what the recogniser takes each clip for, given that it is one
// of the words.
func recognised(t *testing.T, words []string, clips [][]float64) []string {
	dir := t.TempDir()
	write := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, data, 0o600))
		return path
	}
	var ids []string
	for i, clip := range clips {
		ids = append(ids, strings.ReplaceAll(words[i], " ", "-"))
		var raw []byte
		for _, x := range clip {
			raw = binary.LittleEndian.AppendUint16(raw, uint16(int16(math.Round(16000*x))))
		}
		write(ids[i]+".raw", raw)
	}
	grammar := write("n.jsgf", []byte("#JSGF V1.0;\ngrammar n;\npublic <n> = "+strings.Join(words, " | ")+" ;\n"))
	heard := filepath.Join(dir, "heard")
	out, err := exec.Command("pocketsphinx_batch", "-adcin", "yes", "-cepdir", dir, "-cepext", ".raw",
		"-ctl", write("ctl", []byte(strings.Join(ids, "\n")+"\n")), "-jsgf", grammar, "-hmm", models+"en-us",
		"-dict", models+"cmudict-en-us.dict", "-hyp", heard).CombinedOutput()
	require.NoError(t, err, string(out))
	text, err := os.ReadFile(heard)
	require.NoError(t, err)
	var got []string
	for line := range strings.Lines(string(text)) {
		hyp, _, _ := strings.Cut(strings.TrimSpace(line), " (")
		got = append(got, hyp)
	}
	require.Len(t, got, len(words))
	return got
}

// Every clip, decoded as a station decodes it, is within 1 LU of the target by
// the meter, looped, and stays under full scale.
func TestEveryClipIsAsLoudAsTheOthers(t *testing.T) {
	for _, lang := range []string{"en", "es"} {
		p, _ := builtIn(t, lang)
		store := voice.NewStore(p, 1<<20)
		defer store.Close()
		quietest, loudest, highest := 0.0, -70.0, -70.0
		for _, c := range p.Manifest().Clips {
			clip, err := store.Get(c.ID)
			require.NoError(t, err)
			m, err := loudness.NewMeter(voice.Rate, 1)
			require.NoError(t, err)
			one := make([]float64, clip.Len())
			for i, x := range clip.Samples() {
				one[i] = float64(x) / 32768
			}
			for n := 0; n < 4*voice.Rate; n += len(one) {
				m.Write(one)
			}
			got := m.Integrated()
			assert.InDelta(t, -16, got, 1, "%s %s", lang, c.ID)
			quietest, loudest, highest = min(quietest, got), max(loudest, got), max(highest, m.TruePeak())
		}
		t.Logf("%s: %d clips from %.2f to %.2f LUFS, true peak at most %.2f dBTP", lang, len(p.Manifest().Clips), quietest, loudest, highest)
		assert.Less(t, highest, 0.0)
	}
}
