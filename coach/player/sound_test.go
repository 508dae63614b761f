package player_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio"
	"evenbell/audio/audibility"
	"evenbell/audio/loudness"
	"evenbell/coach"
	"evenbell/coach/player"
)

// loud is the loudness of a sound played again and again without a gap, for a
// short sound alone does not fill the meter's block.
func loud(t testing.TB, s player.Sound) float64 {
	t.Helper()
	m, err := loudness.NewMeter(audio.Rate, 1)
	require.NoError(t, err)
	length := 0
	for i, n := range s.Notes {
		length = max(length, s.After[i]+n.Length)
	}
	for range 1 + 6*audio.Rate/length {
		var mix audio.Mixer
		for i, n := range s.Notes {
			mix.Note(int64(s.After[i]), n)
		}
		buf, samples := make([]float32, length), make([]float64, length)
		mix.Mix(buf)
		for i, v := range buf {
			samples[i] = float64(v)
		}
		m.Write(samples)
	}
	return m.Integrated()
}

// The targets of the sounds' loudness, in LU against speech at −16 LUFS. Common
// practice, no source: a movement lies under the words, a stillness under a
// movement, and the stop signal above all.
const speech, moving, still, struck, stop = -16.0, -4.0, -8.0, -6.0, 1.0

func target(k coach.CueKind) float64 {
	switch k {
	case coach.CueLift, coach.CueLower:
		return speech + moving
	case coach.CueTop, coach.CueBottom:
		return speech + still
	case coach.CueStop:
		return speech + stop
	}
	return speech + struck
}

func TestEverySoundIsWithinOneUnitOfItsLoudness(t *testing.T) {
	for r := 1; r <= player.Registers; r++ {
		for _, s := range player.Sounds(r) {
			got := loud(t, s)
			t.Logf("register %d, %-20s %6.1f LUFS", r, s.Name, got)
			assert.InDelta(t, target(s.Kind), got, 1, "register %d, %s", r, s.Name)
		}
	}
}

// What the design asks for: 10 dB over the median threshold at 80 and over a
// room of 60 dB(A), at the reference level, for both sexes and all registers.
func TestEverySoundIsHeardAtEightyInALoudRoom(t *testing.T) {
	for _, sex := range []audibility.Sex{audibility.Man, audibility.Woman} {
		l := audibility.Listener{Age: 80, Sex: sex, NoiseDBA: 60}
		for r := 1; r <= player.Registers; r++ {
			for _, s := range player.Sounds(r) {
				assert.GreaterOrEqual(t, s.Heard(l).Over(), 10.0, "register %d, %s", r, s.Name)
			}
		}
	}
}

// Two registers are two semitones apart, less what whole numbers round away,
// in every sound of the same kind at every share of it, and none leaves the
// range old ears hear.
func TestRegistersAreApartInPitch(t *testing.T) {
	paced := map[coach.CueKind]bool{coach.CueCountIn: true, coach.CueLift: true, coach.CueTop: true, coach.CueLower: true,
		coach.CueBottom: true, coach.CueBeat: true, coach.CueBreath: true, coach.CueSay: true, coach.CueSetEnd: true}
	n := 0
	for a := 1; a <= player.Registers; a++ {
		own := player.Sounds(a)
		for b := 1; b < a; b++ {
			for i, other := range player.Sounds(b) {
				require.Equal(t, other.After, own[i].After, "the same rhythm")
				for j, note := range own[i].Notes {
					if !paced[other.Kind] {
						assert.True(t, other.Notes[j] == note, "%s is the same everywhere", other.Name)
						continue
					}
					n++
					assert.Equal(t, other.Kind == coach.CueBreath, other.Notes[j].Timbre == note.Timbre, "only the breath keeps its soft timbre")
					for share := 0.0; share <= 1; share += 0.05 {
						hz := note.From + share*(note.To-note.From)
						away := 12 * math.Abs(math.Log2(hz/(other.Notes[j].From+share*(other.Notes[j].To-other.Notes[j].From))))
						assert.Greater(t, away, 1.7, "%s of registers %d and %d, in semitones", other.Name, a, b)
						assert.True(t, hz >= 300 && hz <= 1500, "%s of register %d: %g Hz", other.Name, a, hz)
					}
				}
			}
		}
	}
	assert.Greater(t, n, 60)
}

func TestTheRegisterChangesTheSoundNotTheCues(t *testing.T) {
	first, heard := render(config(t), 4096)
	cfg := config(t)
	cfg.Register = 3
	third, same := render(cfg, 4096)
	assert.Equal(t, heard, same)
	assert.Len(t, third, len(first))
	assert.False(t, slices.Equal(first, third))
}
