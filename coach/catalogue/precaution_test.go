package catalogue_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/catalogue"
)

func stage(t *testing.T, id, stage string) coach.Stage {
	t.Helper()
	e, ok := catalogue.Find(id)
	require.True(t, ok, id)
	s, ok := catalogue.Stage(e, stage)
	require.True(t, ok, "%s %s", id, stage)
	return s
}

// Issue 2: a healing breastbone bars the fly, wall push-up, bird dog, bow and
// arrow, curl-up and other loaded arm work.
func TestHealingBreastboneBars(t *testing.T) {
	for _, id := range []string{"floor-fly", "wall-push-up", "bird-dog", "bow-and-arrow", "curl-up"} {
		e, ok := catalogue.Find(id)
		require.True(t, ok, id)
		for _, s := range e.Stages {
			assert.True(t, catalogue.Barred(s, coach.Sternum, coach.NoSide, s.Sides[0]), "%s %s", id, s.ID)
		}
	}
	for _, e := range catalogue.All() {
		for _, s := range e.Stages {
			loaded := s.Dumbbells > 0 || catalogue.Takes(s, coach.BandLoad)
			if e.Region == coach.UpperBody && loaded {
				assert.True(t, catalogue.Barred(s, coach.Sternum, coach.NoSide, s.Sides[0]), "%s %s", e.ID, s.ID)
			}
		}
	}
}

func TestNoFloorBarsTheMatAndNothingElse(t *testing.T) {
	for _, e := range catalogue.All() {
		for _, s := range e.Stages {
			assert.Equal(t, s.Position.OnMat(), catalogue.Barred(s, coach.NoFloor, coach.NoSide, s.Sides[0]),
				"%s %s", e.ID, s.ID)
		}
	}
}

// Common practice, no source.
func TestBarredBySide(t *testing.T) {
	for _, row := range []struct {
		id, stage string
		kind      coach.PrecautionKind
		side      coach.Side
		sides     coach.Sides
		want      bool
	}{
		{"dumbbell-row", "", coach.ShoulderTrouble, coach.Left, coach.EachSide, true},
		{"dumbbell-row", "", coach.ShoulderTrouble, coach.Left, coach.LeftOnly, true},
		{"dumbbell-row", "", coach.ShoulderTrouble, coach.Left, coach.RightOnly, false},
		{"dumbbell-row", "", coach.ShoulderTrouble, coach.Right, coach.LeftOnly, false},
		{"dumbbell-row", "", coach.ShoulderTrouble, coach.Right, coach.RightOnly, true},
		{"dumbbell-row", "", coach.ShoulderTrouble, coach.Both, coach.RightOnly, true},
		{"dumbbell-row", "", coach.ShoulderTrouble, coach.NoSide, coach.RightOnly, true},
		{"dumbbell-row", "", coach.WristTrouble, coach.Left, coach.RightOnly, true}, // the other hand leans
		{"lateral-raise", "", coach.DeviceArm, coach.Left, coach.BothSides, true},
		{"lateral-raise", "", coach.DeviceArm, coach.Left, coach.RightOnly, false},
		{"wall-push-up", "", coach.ShoulderTrouble, coach.Left, coach.BothSides, true},
		{"bow-and-arrow", "", coach.ShoulderTrouble, coach.Left, coach.RightOnly, true}, // both arms work
		{"knee-extension", "", coach.KneeTrouble, coach.Right, coach.LeftOnly, false},
		{"hamstring-curl", "seated", coach.KneeTrouble, coach.Right, coach.LeftOnly, false},
		{"hamstring-curl", "standing", coach.KneeTrouble, coach.Right, coach.LeftOnly, true}, // stands on the other
		{"half-squat", "", coach.KneeTrouble, coach.Left, coach.BothSides, true},
		{"heel-raise", "holding-on", coach.PoorBalance, coach.NoSide, coach.BothSides, false},
		{"heel-raise", "free", coach.PoorBalance, coach.NoSide, coach.BothSides, true},
		{"heel-raise", "holding-on", coach.ShoulderTrouble, coach.Left, coach.BothSides, false}, // contract's example
		{"lateral-raise", "seated", coach.NeckTrouble, coach.NoSide, coach.BothSides, true},
		{"dumbbell-row", "", coach.LowerBackTrouble, coach.NoSide, coach.EachSide, true},
	} {
		got := catalogue.Barred(stage(t, row.id, row.stage), row.kind, row.side, row.sides)
		assert.Equal(t, row.want, got, "%s %s, %s %s, worked %s", row.id, row.stage, row.kind, row.side, row.sides)
	}
}

func TestBarredByNamesTheFirst(t *testing.T) {
	given := []coach.Precaution{
		{Kind: coach.KneeTrouble}, {Kind: coach.NeckTrouble}, {Kind: coach.Sternum},
	}
	p, barred := catalogue.BarredBy(stage(t, "curl-up", ""), coach.BothSides, given)
	assert.True(t, barred)
	assert.Equal(t, coach.NeckTrouble, p.Kind)
	_, barred = catalogue.BarredBy(stage(t, "seated-march", ""), coach.Alternating, given)
	assert.False(t, barred)
}

// What Instead names exists, is another exercise, and may be begun in its
// default stage under that precaution; its keys are the kinds that bar a stage.
func TestInsteadIsSound(t *testing.T) {
	for _, e := range catalogue.All() {
		barring := map[coach.PrecautionKind]bool{}
		for _, s := range e.Stages {
			for _, b := range s.Bars {
				barring[b.Kind] = true
			}
		}
		for kind := range barring {
			assert.Contains(t, e.Instead, kind, e.ID)
		}
		for kind, id := range e.Instead {
			assert.True(t, barring[kind], "%s: %s bars no stage", e.ID, kind)
			if id == "" {
				continue
			}
			assert.NotEqual(t, e.ID, id)
			s := stage(t, id, "")
			assert.False(t, catalogue.Barred(s, kind, coach.Both, s.Sides[0]), "%s: %s is barred by %s too", e.ID, id, kind)
		}
	}
}

// allowedUnder counts the exercises of which something can be done.
func allowedUnder(given ...coach.PrecautionKind) int {
	var ps []coach.Precaution
	for _, k := range given {
		ps = append(ps, coach.Precaution{Kind: k, Side: coach.Both})
	}
	n := 0
	for _, e := range catalogue.All() {
		if c, ok := catalogue.Alternative(e.ID, ps); ok && c.Exercise == e.ID {
			n++
		}
	}
	return n
}

// The trade's least is eight exercises in a session (8–10: PMC10646588 T5).
func TestUnderAnyPrecautionASessionCanBeMade(t *testing.T) {
	assert.Equal(t, len(catalogue.All()), allowedUnder())
	for _, kind := range coach.PrecautionKinds {
		assert.GreaterOrEqual(t, allowedUnder(kind), 8, kind)
	}
	assert.GreaterOrEqual(t, allowedUnder(coach.Sternum, coach.NoFloor), 8)
	assert.GreaterOrEqual(t, allowedUnder(coach.Sternum, coach.NoFloor, coach.PoorBalance), 8)
	assert.Greater(t, allowedUnder(coach.PrecautionKinds...), 0, "even under all of them")
}

func TestAlternative(t *testing.T) {
	both := func(kinds ...coach.PrecautionKind) (ps []coach.Precaution) {
		for _, k := range kinds {
			ps = append(ps, coach.Precaution{Kind: k, Side: coach.Both})
		}
		return ps
	}
	for _, row := range []struct {
		why, id string
		given   []coach.Precaution
		want    catalogue.Choice
	}{
		{"nothing bars it", "curl-up", nil, catalogue.Choice{"curl-up", "hands-to-knees", coach.BothSides}},
		{"one step", "curl-up", both(coach.NoFloor),
			catalogue.Choice{"seated-forward-curl", "hands-on-thighs", coach.BothSides}},
		{"the chain goes on", "curl-up", both(coach.NoFloor, coach.Sternum),
			catalogue.Choice{"pelvic-tilt", "seated", coach.BothSides}},
		{"the bad shoulder rests", "dumbbell-row", []coach.Precaution{{Kind: coach.ShoulderTrouble, Side: coach.Left}},
			catalogue.Choice{"dumbbell-row", "hand-on-chair", coach.RightOnly}},
		{"both shoulders", "dumbbell-row", both(coach.ShoulderTrouble),
			catalogue.Choice{"shoulder-blade-squeeze", "seated", coach.BothSides}},
		{"an easier stage stays open", "hamstring-curl", both(coach.PoorBalance),
			catalogue.Choice{"hamstring-curl", "seated", coach.EachSide}},
		{"a harder stage stays open", "pelvic-tilt", both(coach.NoFloor),
			catalogue.Choice{"pelvic-tilt", "seated", coach.BothSides}},
		{"two steps", "half-squat", both(coach.KneeTrouble, coach.PoorBalance),
			catalogue.Choice{"seated-knees-apart", "seated", coach.BothSides}},
	} {
		got, ok := catalogue.Alternative(row.id, row.given)
		assert.True(t, ok, row.why)
		assert.Equal(t, row.want, got, row.why)
	}
	_, ok := catalogue.Alternative("floor-fly", both(coach.Sternum))
	assert.False(t, ok, "leave it out")
	_, ok = catalogue.Alternative("handstand", nil)
	assert.False(t, ok)
}

// Whatever is proposed under any two precautions is open under both, and
// under one precaution only an empty Instead leaves an exercise out.
func TestAlternativeIsNeverBarred(t *testing.T) {
	for _, e := range catalogue.All() {
		for _, a := range coach.PrecautionKinds {
			for _, b := range coach.PrecautionKinds {
				given := []coach.Precaution{{Kind: a, Side: coach.Left}, {Kind: b, Side: coach.Right}}
				c, ok := catalogue.Alternative(e.ID, given)
				if !ok {
					continue
				}
				s := stage(t, c.Exercise, c.Stage)
				_, barred := catalogue.BarredBy(s, c.Sides, given)
				assert.False(t, barred, "%s → %v under %s and %s", e.ID, c, a, b)
				assert.Contains(t, s.Sides, c.Sides)
			}
			_, ok := catalogue.Alternative(e.ID, []coach.Precaution{{Kind: a}})
			to, named := e.Instead[a]
			assert.Equal(t, !named || to != "", ok, "%s under %s", e.ID, a)
		}
	}
}
