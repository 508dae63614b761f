package station_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/station"
	"evenbell/hardware"
)

const towelPull = `[[exercise]]
id = "own-towel-pull"
name = "towel pull"
set_up = "Sit tall. Hold the towel with both hands."
care = "Keep your shoulders low."
region = "upper"
muscles = ["biceps"]
position = "seated"
first = "lift"
sides = ["both"]
loads = ["body"]
bars = []
verbs_of = "dumbbell-row"
`

// withTowelPull makes the towel pull the first exercise of the short plan.
func withTowelPull(text string) string {
	text = strings.Replace(text, "[[patient]]", towelPull+"[[patient]]", 1)
	return strings.Replace(text, `exercise = "heel-raise"`, `exercise = "own-towel-pull"`, 1)
}

// A device coaches an exercise of the clinic's own from the plan alone.
func TestDeviceCoachesAnOwnExercise(t *testing.T) {
	d := newDevice(t, planFile(t, withTowelPull))
	d.start()
	es := d.press(has(coach.EntrySessionEnd), hardware.Tap, hardware.Plus)
	require.NoError(t, d.stop())
	assert.Equal(t, coach.Completed, outcome(es))
	led := 0
	for _, e := range es {
		if e.Kind == coach.EntryRep && e.Exercise == "own-towel-pull" {
			led++
		}
	}
	assert.Equal(t, 4, led)
	d.verify()
}

// Its movement is led with the verbs of the exercise it names, and its typed
// words are those that stand for them until a machine has spoken them.
func TestAVoiceKnowsOwnExercises(t *testing.T) {
	p, faults := plan.Read("p.toml", []byte(withTowelPull(strings.Replace(shortPlan, "DAY", "2026-03-02", 1))), nil)
	require.NotNil(t, p, "%v", faults)
	prog, err := p.Resolve("K4", p.Day)
	require.NoError(t, err)
	v, err := station.OpenVoice("en")
	require.NoError(t, err)
	defer v.Close()
	text := func(id coach.PhraseID) string {
		sp, err := v.Patiently()
		require.NoError(t, err)
		return sp.Text(coach.Phrase{ID: id, Exercise: "own-towel-pull", Stage: coach.OwnStage, Phase: coach.Lift})
	}
	assert.Empty(t, text(coach.SayVerb), "nobody has told it yet")
	v.Own(prog.Own)
	assert.Equal(t, "Draw back.", text(coach.SayVerb))
	assert.Equal(t, "Get ready as you were shown.", text(coach.SaySetUp))
	if err := v.TypeFor(t.Context(), &prog, t.TempDir()); err != nil {
		require.NotEqual(t, "required", os.Getenv("EVENBELL_PEERS"), "%v", err)
		t.Skipf("nothing here speaks: %v", err)
	}
	assert.Equal(t, "Sit tall. Hold the towel with both hands.", text(coach.SaySetUp))
}
