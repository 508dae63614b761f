package catalogue_test

import (
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/catalogue"
)

// contractTable is the contract's table of exercises, row by row: first phase
// and sides are those of the first stage.
var contractTable = []struct {
	id    string
	first coach.Phase
	sides coach.Sides
	load  coach.LoadKind // named beside the id, or in the contract's example
	at    coach.Position // named beside the id, or by the id
}{
	{"dumbbell-row", coach.Lift, coach.EachSide, coach.DumbbellLoad, ""},
	{"half-squat", coach.Lower, coach.BothSides, "", coach.Standing},
	{"biceps-curl", coach.Lift, coach.Alternating, coach.DumbbellLoad, ""},
	{"hamstring-curl", coach.Lift, coach.EachSide, coach.BandLoad, ""},
	{"lateral-raise", coach.Lift, coach.BothSides, coach.DumbbellLoad, ""},
	{"heel-raise", coach.Lift, coach.BothSides, coach.DumbbellLoad, coach.Standing},
	{"floor-fly", coach.Lower, coach.BothSides, coach.DumbbellLoad, coach.OnBack},
	{"curl-up", coach.Lift, coach.BothSides, coach.BodyLoad, coach.OnBack},
	{"triceps-extension", coach.Lower, coach.EachSide, coach.DumbbellLoad, coach.OnBack},
	{"bird-dog", coach.Lift, coach.Alternating, coach.BodyLoad, coach.OnAllFour},
	{"seated-forward-curl", coach.Lower, coach.BothSides, coach.BodyLoad, coach.Seated},
	{"wall-push-up", coach.Lower, coach.BothSides, coach.BodyLoad, coach.AtWall},
	{"bow-and-arrow", coach.Lift, coach.EachSide, coach.BandLoad, ""},
	{"seated-back-extension", coach.Lower, coach.BothSides, coach.BodyLoad, coach.Seated},
}

func TestContractTable(t *testing.T) {
	for _, row := range contractTable {
		e, ok := catalogue.Find(row.id)
		require.True(t, ok, row.id)
		s, ok := catalogue.Stage(e, "")
		require.True(t, ok, row.id)
		assert.Equal(t, row.first, s.First, row.id)
		assert.Equal(t, row.sides, s.Sides[0], row.id)
		if row.load != "" {
			assert.True(t, catalogue.Takes(s, row.load), "%s takes %s", row.id, row.load)
		}
		if row.at != "" {
			assert.Equal(t, row.at, s.Position, row.id)
		}
	}
}

// The contract's example: heel-raise, 2.5 kg, stage holding-on, the default.
func TestHeelRaiseHoldingOn(t *testing.T) {
	e, _ := catalogue.Find("heel-raise")
	s, ok := catalogue.Stage(e, "holding-on")
	require.True(t, ok)
	assert.Equal(t, e.Stages[0], s)
	assert.True(t, catalogue.Takes(s, coach.DumbbellLoad))
	assert.True(t, catalogue.Takes(s, coach.BodyLoad))
	assert.Equal(t, 1, catalogue.Hands(s, coach.BothSides), "the other hand holds on")
}

// Issue 2: first phase belongs to the exercise's stage, not to its name.
func TestFirstPhaseBelongsToTheStage(t *testing.T) {
	for _, row := range []struct {
		id, stage string
		first     coach.Phase
	}{
		{"half-squat", "free", coach.Lower},                  // issue 2
		{"chair-stand", "hands-on-thighs", coach.Lift},       // issue 2
		{"triceps-extension", "lying", coach.Lower},          // issue 2
		{"triceps-kickback", "seated", coach.Lift},           // issue 2
		{"heel-raise", "free", coach.Lift},                   // common practice, no source
		{"heel-raise", "off-a-step", coach.Lower},            // common practice, no source
		{"lying-march", "feet-down", coach.Lift},             // common practice, no source
		{"lying-march", "toe-tap", coach.Lower},              // common practice, no source
		{"wall-push-up", "far", coach.Lower},                 // contract, as its first stage
		{"seated-back-extension", "arms-crossed", "lower"},   // contract, as its first stage
		{"seated-forward-curl", "arms-crossed", coach.Lower}, // contract, as its first stage
	} {
		e, _ := catalogue.Find(row.id)
		s, ok := catalogue.Stage(e, row.stage)
		require.True(t, ok, "%s %s", row.id, row.stage)
		assert.Equal(t, row.first, s.First, "%s %s", row.id, row.stage)
	}
}

// Range limits as issue 2 gives them: common practice, no source.
func TestRangeLimits(t *testing.T) {
	for id, words := range map[string]string{
		"half-squat":    "right angle at the knee",
		"curl-up":       "a quarter of the way",
		"lateral-raise": "no higher than the shoulder",
		"front-raise":   "no higher than the shoulder",
	} {
		e, ok := catalogue.Find(id)
		require.True(t, ok, id)
		for _, s := range e.Stages {
			assert.Contains(t, s.Range, words, "%s %s", id, s.ID)
		}
	}
}

func TestEveryExerciseIsComplete(t *testing.T) {
	all := catalogue.All()
	assert.GreaterOrEqual(t, len(all), len(contractTable)+12, "the contract: at least a dozen more")
	kebab := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	seen := map[string]bool{}
	for _, e := range all {
		assert.Regexp(t, kebab, e.ID)
		assert.False(t, seen[e.ID], "%s stands twice", e.ID)
		seen[e.ID] = true
		assert.NotEmpty(t, e.Name, e.ID)
		assert.NotEmpty(t, e.Muscles, e.ID)
		assert.Contains(t, []coach.Region{coach.UpperBody, coach.LowerBody, coach.Trunk}, e.Region, e.ID)
		require.NotEmpty(t, e.Stages, e.ID)
		stages := map[string]bool{}
		for _, s := range e.Stages {
			assert.False(t, stages[s.ID], "%s %s stands twice", e.ID, s.ID)
			stages[s.ID] = true
			checkStage(t, e.ID, s)
		}
	}
}

func checkStage(t *testing.T, id string, s coach.Stage) {
	t.Helper()
	where := id + " " + s.ID
	assert.Regexp(t, `^[a-z]+(-[a-z]+)*$`, s.ID, where)
	assert.NotEmpty(t, s.Name, where)
	assert.NotEmpty(t, s.Position, where)
	assert.Contains(t, []coach.Phase{coach.Lift, coach.Lower}, s.First, where)
	assert.NotEmpty(t, s.Sides, where)
	assert.NotEmpty(t, s.Loads, where)
	assert.Equal(t, catalogue.Takes(s, coach.DumbbellLoad), s.Dumbbells > 0, "%s: dumbbells where it takes one", where)
	assert.LessOrEqual(t, s.Dumbbells, 2, where)
	for i, b := range s.Bars {
		assert.Contains(t, coach.PrecautionKinds, b.Kind, where)
		again := slices.IndexFunc(s.Bars, func(o coach.Bar) bool { return o.Kind == b.Kind })
		assert.Equal(t, i, again, "%s: %s stands twice", where, b.Kind)
		if b.OneSided {
			assert.Contains(t, s.Sides, coach.LeftOnly, "%s: %s leaves a side free", where, b.Kind)
			assert.Contains(t, s.Sides, coach.RightOnly, "%s: %s leaves a side free", where, b.Kind)
		}
	}
}

// Issue 2: on a mat, standing, seated, at a wall, on all fours; dumbbell,
// band, body weight.
func TestEveryPositionAndLoadIsThere(t *testing.T) {
	positions, loads := map[coach.Position]bool{}, map[coach.LoadKind]bool{}
	for _, e := range catalogue.All() {
		for _, s := range e.Stages {
			positions[s.Position] = true
			for _, k := range s.Loads {
				loads[k] = true
			}
		}
	}
	for _, p := range []coach.Position{coach.Standing, coach.AtWall, coach.Seated, coach.OnBack,
		coach.OnSide, coach.OnAllFour} {
		assert.True(t, positions[p], p)
	}
	for _, k := range []coach.LoadKind{coach.BodyLoad, coach.DumbbellLoad, coach.BandLoad} {
		assert.True(t, loads[k], k)
	}
}

func TestAllIsACopy(t *testing.T) {
	catalogue.All()[0] = coach.Exercise{}
	assert.NotEmpty(t, catalogue.All()[0].ID)
}

func TestFindAndStageRefuseStrangers(t *testing.T) {
	_, ok := catalogue.Find("handstand")
	assert.False(t, ok)
	e, _ := catalogue.Find("heel-raise")
	_, ok = catalogue.Stage(e, "on-a-tightrope")
	assert.False(t, ok)
	_, ok = catalogue.Stage(coach.Exercise{}, "")
	assert.False(t, ok)
}

func TestNearest(t *testing.T) {
	for written, want := range map[string]string{
		"heel-rasie":     "heel-raise",
		"bicep-curl":     "biceps-curl",
		"Biceps Curl":    "biceps-curl",
		"halfsquat":      "half-squat",
		"lateral_raises": "lateral-raise",
		"curlup":         "curl-up",
		"bird-dog":       "bird-dog",
		"triceps-extnsn": "triceps-extension",
	} {
		assert.Equal(t, want, catalogue.Nearest(written), written)
	}
	_, ok := catalogue.Find(catalogue.Nearest(""))
	assert.True(t, ok, "something always comes back")
}

func TestHands(t *testing.T) {
	for _, row := range []struct {
		id, stage string
		sides     coach.Sides
		want      int
	}{
		{"biceps-curl", "", coach.Alternating, 2},
		{"biceps-curl", "", coach.BothSides, 2},
		{"biceps-curl", "", coach.EachSide, 1}, // vocabulary: one side alone never more than one
		{"biceps-curl", "", coach.LeftOnly, 1},
		{"dumbbell-row", "", coach.EachSide, 1},
		{"heel-raise", "holding-on", coach.BothSides, 1},
		{"heel-raise", "free", coach.BothSides, 2},
		{"curl-up", "", coach.BothSides, 0},
		{"knee-extension", "", coach.EachSide, 0},
	} {
		e, _ := catalogue.Find(row.id)
		s, ok := catalogue.Stage(e, row.stage)
		require.True(t, ok, row.id)
		assert.Equal(t, row.want, catalogue.Hands(s, row.sides), "%s %s %s", row.id, row.stage, row.sides)
	}
}
