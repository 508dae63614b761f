package plan_test

import (
	"strings"
	"testing"
	"time"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestResolve(t *testing.T) {
	p := reread(t)
	got, err := p.Resolve("K4", "2026-03-10")
	require.NoError(t, err)
	rules := protocol.Default()
	items := got.Items
	got.Items = nil
	assert.Equal(t, p.Patients[0].Home, got.Home)
	got.Home = nil
	assert.Equal(t, coach.Programme{
		Day: "2026-03-10", Clinic: "Quayside Heart Health", Approved: true, Tag: "K4", Call: "heron", Note: "Please mind the new mat.",
		Guide: coach.GuideBoth, Part: coach.Whole, WarmUp: 300 * time.Second, CoolDown: 300 * time.Second,
		SitBefore: rules.Seconds(protocol.SitBeforeStanding),
		Patience:  coach.Patience{Repeat: 30 * time.Second, Look: time.Minute, Abandon: 5 * time.Minute}, // contract: no answer
	}, got)
	assert.Equal(t, []coach.Item{{
		Exercise: "heel-raise", Sides: coach.BothSides, First: coach.Lift, Position: coach.Standing, Dumbbells: 1,
		Dose: coach.Dose{Load: coach.Dumbbell(2500, coach.Kilogram), Reps: 10, Sets: 1, Stage: "holding-on"},
		Pace: p.Patients[0].Items[0].Pace, Last: coach.Done{Load: coach.Dumbbell(2000, coach.Kilogram), Reps: 12},
		Words: coach.WordsBrief,
	}}, items)

	m7, err := p.Resolve("M7", "2026-03-02")
	require.NoError(t, err)
	assert.True(t, m7.WarmedUp)
	assert.Equal(t, p.Pace, m7.Items[0].Pace)

	one, _ := plan.Read("p", load(t, "one-item.toml"), nil)
	alone, err := one.Resolve("K4", "2026-03-02")
	require.NoError(t, err)
	assert.False(t, alone.Approved)
	assert.Zero(t, alone.Items[0].Dumbbells, "the body alone holds none")
}

func TestResolveRefuses(t *testing.T) {
	p := reread(t)
	_, err := p.Resolve("X1", "2026-03-02")
	assert.EqualError(t, err, `nobody in the plan has the tag "X1"; it has K4, M7, R2`)
	for day, covered := range map[coach.Day]bool{"2026-03-01": false, "2026-03-02": true, "2026-03-29": true, "2026-03-30": false} {
		assert.Equal(t, covered, p.Covers(day), day)
		_, err = p.Resolve("K4", day)
		assert.Equal(t, covered, err == nil, day)
	}
	p.Until = ""
	_, err = p.Resolve("K4", "2026-03-03")
	assert.EqualError(t, err, "the plan is for 2026-03-02, not for 2026-03-03")
	p.Patients[0].Items[0].Dose.Stage = "flying"
	_, err = p.Resolve("K4", "2026-03-02")
	assert.EqualError(t, err, `item 1 of K4: heel-raise at stage "flying" is not in the catalogue`)
}

// One side alone holds one dumbbell, both sides what the catalogue says.
func TestDumbbellsInUse(t *testing.T) {
	for side, want := range map[string]int{"alternating": 2, "left": 1} {
		text := strings.Replace(small, `"heel-raise"`, `"biceps-curl"`+"\nside = \""+side+"\"", 1)
		p, faults := plan.Read("p", []byte(text), nil)
		require.NotNil(t, p, lines(faults))
		got, err := p.Resolve("K4", "2026-03-02")
		require.NoError(t, err)
		assert.Equal(t, want, got.Items[0].Dumbbells, side)
	}
}
