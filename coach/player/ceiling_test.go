package player_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"evenbell/audio"
	"evenbell/coach"
	"evenbell/coach/player"
)

// Station gain and the person's own volume together stay under the ceiling; a
// ceiling nobody reaches changes nothing.
func TestTheCeilingHolds(t *testing.T) {
	loudest := func(ceiling *float64, gain float64, volume int) float64 {
		cfg := config(t)
		cfg.GainDB, cfg.CeilingDB = gain, ceiling
		for s := range 60 { // plus answers the questions, and is the volume in the warm-up
			cfg.Presses = append(cfg.Presses, coach.Press{Button: coach.Plus, At: coach.Samples(s) * audio.Rate})
		}
		p, buf, top := player.New(cfg), make([]int16, audio.Rate), 0.0
		for range 60 {
			for _, x := range buf[:p.Render(buf)] {
				top = max(top, math.Abs(float64(x)))
			}
		}
		assert.Equal(t, volume, p.Session().Volume(), "the person pressed it up as far as it goes")
		var said []string
		for _, c := range p.Take(player.All).Cues {
			if c.Phrase.ID == coach.SayVolume {
				said = append(said, c.Phrase.Name)
			}
		}
		assert.Equal(t, "loudest", said[len(said)-1])
		if volume <= 0 {
			assert.NotContains(t, said, "louder", "it would not be")
		}
		return 20 * math.Log10(top/32768)
	}
	low, high := -30.0, 20.0
	free := loudest(nil, -24, 6)
	assert.Equal(t, free, loudest(&high, -24, 6))
	assert.Less(t, loudest(&low, -24, -6), free-5.9, "at least the 6 dB between station and ceiling")
	assert.Equal(t, loudest(&low, -24, -6), loudest(&low, 0, -30), "nothing gets past the ceiling")
}
