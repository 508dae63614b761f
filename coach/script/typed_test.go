package script

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

func ownTowel(name, setUp, care string) coach.OwnExercise {
	return coach.OwnExercise{Exercise: coach.Exercise{ID: "own-towel-pull", Name: name}, SetUp: setUp, Care: care,
		VerbsOf: "half-squat", VerbsStage: "free"}
}

// Whatever staff typed, every sentence about an exercise of their own is whole:
// with their words, and with those that stand in for them, which every pack has.
func TestEverySentenceOfAnOwnExerciseIsWhole(t *testing.T) {
	inEvery(t, func(t *testing.T, base *Script) {
		must := map[string]bool{}
		for _, c := range base.Clips() {
			must[c.ID] = true
		}
		ids := slices.Collect(maps.Values(phraseIDs(t)))
		for _, own := range []coach.OwnExercise{
			ownTowel("towel pull", "Sit tall. Hold the towel with both hands.", "Keep your shoulders low."),
			ownTowel("Привет", "{n} | {load}", "a"), ownTowel("…", "", "?"), ownTowel("7", "\x00", strings.Repeat("x", 200)),
		} {
			s := base.With([]coach.OwnExercise{own})
			for _, id := range ids {
				for _, p := range []coach.Phrase{
					{ID: id, Exercise: own.ID, Stage: coach.OwnStage, N: 1, Of: 3, Phase: coach.Lift, Side: coach.Left},
					{ID: id, Exercise: own.ID, Stage: coach.OwnStage, N: 3, Of: 3, Phase: coach.Lower, Load: coach.Dumbbell(2500, coach.Kilogram), Hands: 2},
					{ID: id, Exercise: own.ID, Stage: coach.OwnStage, Load: coach.Band(2), Seconds: 60, Side: coach.Right},
				} {
					for _, c := range s.Say(p) {
						require.False(t, c.Typed)
						require.True(t, must[c.ID], "%+v says %q, which no pack must have", p, c.ID)
					}
					clips, typed := s.SayTyped(p)
					for _, c := range clips {
						require.True(t, c.Typed || must[c.ID], "%+v says %q", p, c.ID)
					}
					require.Equal(t, len(s.Say(p)) == 0, len(clips) == 0, "%+v", p)
					if !typed {
						require.Equal(t, s.Text(p), s.TextTyped(p))
					}
					require.NotContains(t, s.Text(p), "{", "%+v", p)
				}
			}
			for _, id := range []coach.PhraseID{coach.SaySetUp, coach.SayCare, coach.SayOutAs, coach.SayVerb, coach.SayCountVerb, coach.SayExercise} {
				assert.NotEmpty(t, s.Text(coach.Phrase{ID: id, Exercise: own.ID, Stage: coach.OwnStage, N: 1, Of: 1, Phase: coach.Lift}), id)
			}
		}
	})
}

func TestAnOwnExerciseInWords(t *testing.T) {
	s := load(t).With([]coach.OwnExercise{ownTowel("towel pull", "Sit tall.", "Keep your shoulders low.")})
	for _, row := range []struct {
		p             coach.Phrase
		typed, others string
	}{
		{coach.Phrase{ID: coach.SayExercise, N: 1, Of: 3}, "First exercise: towel pull.", "First exercise: the exercise you were shown."},
		{coach.Phrase{ID: coach.SaySetUp}, "Sit tall.", "Get ready as you were shown."},
		{coach.Phrase{ID: coach.SayCare}, "Keep your shoulders low.", "Take the care you were shown."},
		{coach.Phrase{ID: coach.SayOutAs}, "Breathe out to stand.", "Breathe out to stand."},
		{coach.Phrase{ID: coach.SayCountVerb, N: 2, Phase: coach.Lower}, "Two, go down.", "Two, go down."},
		{coach.Phrase{ID: coach.SayComingUp, Load: coach.Band(2)}, "Coming up: towel pull. Please fetch band two.", "Coming up: the exercise you were shown. Please fetch band two."},
	} {
		row.p.Exercise, row.p.Stage = "own-towel-pull", coach.OwnStage
		assert.Equal(t, row.typed, s.TextTyped(row.p))
		assert.Equal(t, row.others, s.Text(row.p))
	}
	f, ok := s.Form("own-towel-pull", coach.OwnStage)
	assert.True(t, ok)
	assert.Equal(t, Form{Name: "towel pull", SetUp: "Sit tall.", Care: "Keep your shoulders low.", OutAs: "Breathe out to stand.", Lift: "stand up", Lower: "go down"}, f)
}

func TestStandInsThatSayNothingAreRefused(t *testing.T) {
	text, err := files.ReadFile("en.toml")
	require.NoError(t, err)
	for _, bad := range []string{`place    = "…"`, `place    = "{n}"`, `places = "your next place"`} {
		_, err := parse([]byte(strings.Replace(string(text), `place    = "your next place"`, bad, 1)))
		assert.ErrorContains(t, err, "stand-in.place")
	}
}
