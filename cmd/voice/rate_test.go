package main

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio"
	"evenbell/audio/voice"
	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/script"
)

// Synthetic speech is most comfortable at 150 to 200 words a minute, for old
// and young (Sutton 1995). Measured over every different sentence of at least
// five words that the demo plan's sessions say, with the gaps between their
// clips. Words differ in length, and so do single sentences in rate: what is
// held to the range is the whole, and the sentences to half as much again.
func TestTheSpokenRateIsComfortable(t *testing.T) { inEvery(t, spokenRateIsComfortable) }

func spokenRateIsComfortable(t *testing.T, p *voice.Pack, s *script.Script) {
	speaker, err := player.NewSpeaker(s, p, func(string) audio.Clip { return audio.Clip{} })
	require.NoError(t, err)
	words, minutes := 0, 0.0
	var rates []float64
	for text, phrase := range sentences(t, speaker) {
		n, length := len(strings.Fields(text)), float64(speaker.Length(phrase))/voice.Rate/60
		if n < 5 {
			continue
		}
		words, minutes = words+n, minutes+length
		rates = append(rates, float64(n)/length)
		assert.InDelta(t, 175, float64(n)/length, 100, text)
	}
	slices.Sort(rates)
	at := func(percent int) float64 { return rates[(len(rates)-1)*percent/100] }
	t.Logf("%s: %d sentences, %d words, %.0f words a minute; of sentences the least %.0f, a tenth under %.0f, half under %.0f, nine tenths under %.0f, the most %.0f",
		s.Language(), len(rates), words, float64(words)/minutes, rates[0], at(10), at(50), at(90), rates[len(rates)-1])
	assert.InDelta(t, 175, float64(words)/minutes, 25)
}

// sentences are the different sentences of the demo plan's sessions.
func sentences(t *testing.T, speaker *player.Speaker) map[string]coach.Phrase {
	pl, faults := plan.Read("demo.toml", plan.Demo(), nil)
	require.NotNil(t, pl, "%v", faults)
	out := map[string]coach.Phrase{}
	for _, tag := range pl.Tags() {
		prog, err := pl.Resolve(tag, pl.Day)
		require.NoError(t, err)
		heard, _ := player.Dry(player.Config{Programme: &prog, Voice: speaker, Patient: player.Willing})
		for _, c := range heard.Cues {
			out[speaker.Text(c.Phrase)] = c.Phrase
		}
	}
	require.Greater(t, len(out), 30)
	return out
}
