package catalogue_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/catalogue"
)

// Ten to fifteen repetitions, eight to twelve exercises: the job as
// design.md puts it.
func TestProgrammesStand(t *testing.T) {
	ps := catalogue.Programmes()
	require.Len(t, ps, 2)
	assert.NotEqual(t, ps[0].ID, ps[1].ID)
	for _, p := range ps {
		assert.NotEmpty(t, p.Name, p.ID)
		assert.GreaterOrEqual(t, len(p.Items), 8, p.ID)
		assert.LessOrEqual(t, len(p.Items), 12, p.ID)
		var before coach.Exercise
		down := false
		for i, it := range p.Items {
			e, ok := catalogue.Find(it.Exercise)
			require.True(t, ok, it.Exercise)
			s := stage(t, it.Exercise, it.Stage)
			assert.Equal(t, it.Stage, s.ID, "%s names its stage", it.Exercise)
			assert.True(t, catalogue.Takes(s, it.Load.Kind()), "%s takes %s", it.Exercise, it.Load)
			assert.Contains(t, s.Sides, it.Sides, it.Exercise)
			assert.GreaterOrEqual(t, it.Reps, 10, it.Exercise)
			assert.LessOrEqual(t, it.Reps, 15, it.Exercise)
			assert.False(t, down && !s.Position.OnMat(), "%s: once down, stay down", it.Exercise)
			down = s.Position.OnMat()
			if i > 0 {
				assert.NotEqual(t, before.Muscles[0], e.Muscles[0], "%s after %s", e.ID, before.ID)
			}
			before = e
		}
	}
}

func TestOneProgrammeUsesTheMatTheOtherNeverLeavesChairOrWall(t *testing.T) {
	onMat := 0
	for _, it := range catalogue.Programmes()[0].Items {
		if stage(t, it.Exercise, it.Stage).Position.OnMat() {
			onMat++
		}
	}
	assert.Greater(t, onMat, 0)
	for _, it := range catalogue.Programmes()[1].Items {
		assert.Contains(t, []coach.Position{coach.Seated, coach.AtWall},
			stage(t, it.Exercise, it.Stage).Position, it.Exercise)
	}
}

func TestProgrammesAreCopies(t *testing.T) {
	catalogue.Programmes()[0].Items[0].Exercise = "handstand"
	assert.Equal(t, "half-squat", catalogue.Programmes()[0].Items[0].Exercise)
}
