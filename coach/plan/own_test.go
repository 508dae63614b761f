package plan_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/plan"
)

const towel = `format = "exercises/1"
[[exercise]]
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

func TestOwnExercisesReadBack(t *testing.T) {
	own, faults := plan.ReadOwn("mine.toml", []byte(towel))
	require.Empty(t, faults)
	require.Len(t, own, 1)
	assert.Equal(t, "own-towel-pull", own[0].ID)
	assert.Equal(t, []string{"towel pull", "Sit tall. Hold the towel with both hands.", "Keep your shoulders low."}, own[0].Typed())
	again, faults := plan.ReadOwn("mine.toml", plan.WriteOwn(own))
	require.Empty(t, faults)
	assert.Equal(t, own, again)
}

func TestOneThingWrongWithAnOwnExercise(t *testing.T) {
	for _, row := range []struct{ old, new, want string }{
		{`"own-towel-pull"`, `"towel-pull"`, `3: exercise.id: "towel-pull" is no id of an exercise of your own; "own-" and small letters, digits and hyphens, at most 40, such as "own-towel-pull"`},
		{`"towel pull"`, `"…"`, `4: exercise.name: "…" has nothing in it that can be said; words`},
		{`"towel pull"`, `"` + strings.Repeat("x", 41) + `"`, `4: exercise.name: is 41 letters long; at most 40`},
		{`care = "Keep your shoulders low."` + "\n", ``, `2: exercise.care: missing; write a text in quotes`},
		{`["biceps"]`, `["bicep"]`, `8: exercise.muscles: "bicep" is not allowed; one or more of chest, upper back, lower back, shoulders, biceps, triceps, abdominals, gluteals, quadriceps, hamstrings, calves, shins, hip abductors, hip flexors`},
		{`["biceps"]`, `[]`, `8: exercise.muscles: is empty; one or more of chest, upper back, lower back, shoulders, biceps, triceps, abdominals, gluteals, quadriceps, hamstrings, calves, shins, hip abductors, hip flexors`},
		{`["both"]`, `["both", "both"]`, `11: exercise.sides: "both" is given twice; once each`},
		{`loads = ["body"]`, `loads = ["body", "dumbbell"]`, `2: exercise.dumbbells: missing; 1 or 2 in use when both sides work, since loads has "dumbbell"`},
		{`loads = ["body"]`, "loads = [\"body\"]\ndumbbells = 1", `13: exercise.dumbbells: is given, but loads has no "dumbbell"; leave it out`},
		{`"seated"`, `"lying on the back"`, `13: exercise.bars: "lying on the back" is on the mat, so bars needs "no-floor"`},
		{"bars = []\n", "", `2: exercise.bars: missing; write a list of texts, such as ["tap", "hold"]`},
		{"bars = []\n", "bars = [\"wrist\"]\nbars_one_side = [\"wrist\"]\n", `14: exercise.bars_one_side: "wrist" is given twice; once, in bars or in bars_one_side`},
		{`"dumbbell-row"`, `"dumbell-row"`, `14: exercise.verbs_of: "dumbell-row" is not in the catalogue; did you mean "dumbbell-row"? The two verbs and the breathing cue of that exercise lead this one`},
		{`"dumbbell-row"`, "\"dumbbell-row\"\nverbs_stage = \"swing\"", `15: exercise.verbs_stage: "swing" is no stage of dumbbell-row; it has `},
	} {
		require.Contains(t, towel, row.old)
		own, faults := plan.ReadOwn("p", []byte(strings.Replace(towel, row.old, row.new, 1)))
		assert.Nil(t, own)
		assert.True(t, strings.HasPrefix(lines(coach.Errors(faults)), "p:"+row.want), "%s", lines(faults))
		assert.Equal(t, 1, strings.Count(lines(coach.Errors(faults)), "\n"), "%s", lines(faults))
	}
	_, faults := plan.ReadOwn("p", []byte(towel+strings.SplitAfterN(towel, "\n", 2)[1]))
	assert.Contains(t, lines(faults), `p:16: exercise.id: "own-towel-pull" is the id of another exercise already, on line 3`)
	_, faults = plan.ReadOwn("p", []byte(strings.Replace(towel, `["body"]`, `["band"]`, 1)))
	assert.Contains(t, lines(faults), `warning: exercise.bars: an upper-body exercise against a load, and "sternum" is not among them`)
}

// planned is a plan with the towel pull in it.
func planned(t *testing.T, change func(string) string) (*plan.Plan, []coach.Fault) {
	t.Helper()
	text := strings.Replace(small, "[[patient]]", strings.SplitAfterN(towel, "\n", 2)[1]+"[[patient]]", 1)
	text = strings.Replace(text, `exercise = "heel-raise"`, `exercise = "own-towel-pull"`, 1)
	text = strings.Replace(text, `load = "2.5 kg"`, `load = "body"`, 1)
	return plan.Read("p", []byte(change(text)), nil)
}

// An exercise of the clinic's own is coached like any other, and travels with
// the session.
func TestAPlanCarriesItsOwnExercises(t *testing.T) {
	p, faults := planned(t, func(s string) string { return s })
	require.NotNil(t, p, lines(faults))
	prog, err := p.Resolve("K4", p.Day)
	require.NoError(t, err)
	require.Equal(t, p.Own, prog.Own)
	it := prog.Items[0]
	assert.Equal(t, "own-towel-pull", it.Exercise)
	assert.Equal(t, coach.OwnStage, it.Dose.Stage)
	assert.Equal(t, coach.Seated, it.Position)
	assert.Equal(t, coach.Lift, it.First)
	again, faults := plan.Read("p", plan.Write(p), nil)
	require.NotNil(t, again, lines(faults))
	assert.Equal(t, p, again)
}

func TestAnOwnExerciseIsCheckedLikeAnyOther(t *testing.T) {
	for _, row := range []struct{ old, new, want string }{
		{`exercise = "own-towel-pull"`, `exercise = "own-rope-pull"`, `"own-rope-pull" has no [[exercise]] in this plan; it has own-towel-pull`},
		{`load = "body"`, `load = "band 2"`, `own-towel-pull at own is not done with "band 2"; it takes body`},
		{`bars = []`, `bars = ["wrist"]`, `own-towel-pull at own, both, goes against the wrist precaution, which has no last day; leave it out`},
	} {
		_, faults := planned(t, func(s string) string {
			require.Contains(t, s, row.old)
			s = strings.Replace(s, row.old, row.new, 1)
			return strings.Replace(s, "[[patient.item]]", "[[patient.precaution]]\nkind = \"wrist\"\n[[patient.item]]", 1)
		})
		assert.Contains(t, lines(faults), row.want)
	}
}

// FuzzReadOwn: no text makes the reader fall over; what it accepts reads back
// equal, and makes a plan that can be coached.
func FuzzReadOwn(f *testing.F) {
	f.Add([]byte(towel))
	f.Add(load(f, "every-key.toml"))
	f.Fuzz(func(t *testing.T, text []byte) {
		own, faults := plan.ReadOwn("p", text)
		for _, v := range faults {
			require.NotContains(t, v.String(), "\n")
		}
		if len(coach.Errors(faults)) > 0 {
			require.Nil(t, own)
			return
		}
		again, faults := plan.ReadOwn("p", plan.WriteOwn(own))
		require.Equal(t, own, again, lines(faults))
		for _, e := range own {
			require.True(t, coach.IsOwn(e.ID))
			for _, s := range e.Typed() {
				require.NotEmpty(t, strings.TrimSpace(s))
			}
		}
	})
}
