package plan_test

import (
	"fmt"
	"testing"

	"evenbell/coach"
	"evenbell/coach/plan"

	"github.com/stretchr/testify/assert"
)

// against reads a plan of one item for a patient with one precaution and
// gives the message on it, if any.
func against(day, precaution, item string) []string {
	_, faults := plan.Read("p", fmt.Appendf(nil, `format = "day-plan/1"
day = %s
clinic = "Quayside Heart Health"
unit = "kg"
[[patient]]
tag = "K4"
warm_up = 300
cool_down = 300
[[patient.precaution]]
%s
[[patient.item]]
reps = 10
%s
`, day, precaution, item), nil)
	var out []string
	for _, f := range coach.Errors(faults) {
		out = append(out, f.Key+": "+f.Message)
	}
	return out
}

// A healing breastbone bars these for the protocol's twelve weeks: the issue.
func TestSternumBarsLoadedArmWork(t *testing.T) {
	for _, item := range []string{
		"exercise = \"floor-fly\"\nload = \"1 kg\"", "exercise = \"wall-push-up\"\nload = \"body\"", "exercise = \"bird-dog\"\nload = \"body\"",
		"exercise = \"bow-and-arrow\"\nload = \"band 1\"", "exercise = \"curl-up\"\nload = \"body\"",
	} {
		for _, c := range []struct {
			terms  string
			barred bool
		}{
			{`kind = "sternum"`, true},                                             // no days: in force
			{"kind = \"sternum\"\nsince = 2026-03-02", true},                       // from the day itself
			{"kind = \"sternum\"\nsince = 2025-12-08", true},                       // 84 days: the last day
			{"kind = \"sternum\"\nsince = 2025-12-07", false},                      // 85 days
			{"kind = \"sternum\"\nsince = 2025-12-07\nuntil = 2026-03-02", true},   // the clinic's own last day
			{"kind = \"sternum\"\nsince = 2026-01-05\nuntil = 2026-03-01", false},  // the day before
			{"kind = \"sternum\"\nuntil = 2026-03-02\nside = \"left\"", true},      // a side does not matter
			{"kind = \"no-floor\"\nuntil = 2026-03-01", false},                     // over
			{"kind = \"device-arm\"\nsince = 2025-12-07\nside = \"left\"", false},  // over, by the same weeks
			{"kind = \"sternum\"\nuntil = 2026-03-02\nsince = 2026-03-02", true},   // one day
			{"kind = \"sternum\"\nsince = 2025-12-08 # as long as the plan", true}, // comments are nothing
			{"kind = \"sternum\"\nside = \"both\"\nsince = 2025-12-01", false},     // 91 days
			{"kind = \"balance\"\nside = \"both\"\nuntil = 2026-02-01", false},     // over
			{"kind = \"knee\"\nside = \"right\"\nuntil = 2020-02-01", false},       // long over
			{"kind = \"sternum\"\nsince = 2026-02-28", true},                       // this week
			{"kind = \"sternum\"\nsince = 2026-02-28\nuntil = 2026-06-01", true},   // longer than usual
		} {
			assert.Equal(t, c.barred, len(against("2026-03-02", c.terms, item)) == 1, "%s\n%s", c.terms, item)
		}
	}
}

func TestAPrecautionOnAnyDayOfThePlanCounts(t *testing.T) {
	const wall = "exercise = \"wall-push-up\"\nload = \"body\""
	terms := "kind = \"sternum\"\nuntil = 2026-03-10"
	assert.Len(t, against("2026-03-10\nuntil = 2026-03-20", terms, wall), 1)
	assert.Empty(t, against("2026-03-11\nuntil = 2026-03-20", terms, wall))
}

func TestTheMessageSaysWhatToChoose(t *testing.T) {
	for _, c := range []struct{ terms, item, want string }{
		{"kind = \"no-floor\"", "exercise = \"floor-fly\"\nload = \"1 kg\"",
			`patient.item.exercise: floor-fly at bent-arms, both, goes against the no-floor precaution, which has no last day; choose exercise = "chest-press", stage = "seated", side = "both" instead`},
		{"kind = \"balance\"\nuntil = 2026-04-01", "exercise = \"heel-raise\"\nload = \"body\"\nstage = \"free\"",
			`patient.item.exercise: heel-raise at free, both, goes against the balance precaution, in force until 2026-04-01; choose stage = "holding-on", side = "both"`},
		{"kind = \"shoulder\"\nside = \"left\"\nuntil = 2026-04-01", "exercise = \"dumbbell-row\"\nload = \"2 kg\"",
			`patient.item.exercise: dumbbell-row at hand-on-chair, each, goes against the shoulder precaution (left), in force until 2026-04-01; choose stage = "hand-on-chair", side = "right"`},
	} {
		assert.Equal(t, []string{c.want}, against("2026-03-02", c.terms, c.item))
	}
}

func TestOneSideAloneSparesTheOther(t *testing.T) {
	const left = "kind = \"shoulder\"\nside = \"left\""
	row := func(side string) string {
		return "exercise = \"dumbbell-row\"\nload = \"2 kg\"\nside = \"" + side + "\""
	}
	assert.Empty(t, against("2026-03-02", left, row("right")))
	assert.Len(t, against("2026-03-02", left, row("left")), 1)
	assert.Len(t, against("2026-03-02", left, row("each")), 1)
	assert.Len(t, against("2026-03-02", "kind = \"shoulder\"", row("right")), 1, "no side means both")
}
