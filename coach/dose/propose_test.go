package dose

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"evenbell/coach"
	"evenbell/coach/protocol"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// curl is a dumbbell exercise with one stage; rise takes the body alone and
// has three.
var (
	curl = coach.Exercise{ID: "biceps-curl", Region: coach.UpperBody,
		Stages: []coach.Stage{{ID: "standing", Name: "standing", Loads: []coach.LoadKind{coach.DumbbellLoad, coach.BandLoad}}}}
	rise = coach.Exercise{ID: "heel-raise", Region: coach.LowerBody, Stages: []coach.Stage{
		{ID: "easy", Name: "holding on", Loads: []coach.LoadKind{coach.BodyLoad}},
		{ID: "mid", Name: "one hand", Loads: []coach.LoadKind{coach.BodyLoad}},
		{ID: "hard", Name: "no hands", Loads: []coach.LoadKind{coach.BodyLoad},
			Bars: []coach.Bar{{Kind: coach.PoorBalance}}},
	}}
)

const firstDay = coach.Day("2026-03-02")

// story reads sessions three days apart from lines such as
// "4 kg x 15 x 1: 5+". A result other than complete is named behind it: short
// or cut; "?" is an unanswered effort; "doubt" marks the log.
func story(t testing.TB, text string) []Session {
	var out []Session
	for i, line := range strings.Split(strings.TrimSpace(text), "\n") {
		what, how, ok := strings.Cut(strings.TrimSpace(line), ":")
		require.True(t, ok, line)
		s := Session{Dose: parseDose(t, what), Result: Complete, Worked: true,
			At: firstDay.AddDays(3 * i).Time().Add(9 * time.Hour), IDs: []string{fmt.Sprintf("s%d", i+1)}}
		for _, word := range strings.Fields(how) {
			switch word {
			case "short", "cut":
				s.Result = Result(word)
			case "?":
				s.Unanswered = true
			case "doubt":
				s.Doubtful = true
			case "seen":
				s.Observed = true
			default:
				s.Reserve = coach.Reserve(word)
			}
		}
		out = append(out, s)
	}
	return out
}

// parseDose reads "4 kg x 15 x 1" or "body x 15 x 1 easy".
func parseDose(t testing.TB, s string) coach.Dose {
	parts := strings.Split(s, " x ")
	require.Len(t, parts, 3, s)
	d := coach.Dose{Load: load(t, parts[0]), Stage: "standing"}
	_, err := fmt.Sscan(parts[1], &d.Reps)
	require.NoError(t, err)
	if n, _ := fmt.Sscan(parts[2], &d.Sets, &d.Stage); n < 1 {
		require.Fail(t, "no sets", s)
	}
	return d
}

// after is the day n days after the last session of a story.
func after(s []Session, n int) coach.Day { return coach.DayOf(s[len(s)-1].At).AddDays(n) }

func show(d coach.Dose) string {
	return fmt.Sprintf("%s x %d x %d %s", d.Load, d.Reps, d.Sets, d.Stage)
}

func TestRules(t *testing.T) {
	const halves = "1, 1.5, 2, 2.5, 3, 4, 4.4, 5, 6 kg"
	const coarse = "1, 1.5, 2, 2.5, 3, 4, 5, 6 kg"
	at := func(day int) time.Time { return firstDay.AddDays(day).Time().Add(10 * time.Hour) }
	for _, c := range []struct {
		name, owned, story string
		change             func(*History)
		days               int // since the last session
		action             Action
		rule               Rule
		to                 string
		finding, observe   bool
	}{
		{name: "the issue's example: 4 kg with 5 kg next", owned: coarse, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			action: Up, rule: RuleBigStep, to: "5 kg x 8 x 1 standing", observe: true},
		{name: "the issue's example: 3 kg with 4 kg next", owned: coarse, story: "3 kg x 15 x 1: 5+\n3 kg x 15 x 1: 5+",
			action: Sets, rule: RuleMoreSets, to: "3 kg x 15 x 2 standing"},
		{name: "3 kg with two sets already", owned: coarse, story: "3 kg x 15 x 2: 5+\n3 kg x 15 x 2: 5+",
			action: Hold, rule: RuleStuck, to: "3 kg x 15 x 2 standing", finding: true},

		{name: "one session", owned: halves, story: "4 kg x 10 x 1: 5+", action: Hold, rule: RuleEarly, to: "4 kg x 10 x 1 standing"},
		{name: "ready with plenty left, below the top", owned: halves, story: "4 kg x 10 x 1: 5+\n4 kg x 10 x 1: 5+ seen",
			action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing"},
		{name: "the first step up wants an observed effort", owned: halves, story: "4 kg x 10 x 1: 5+\n4 kg x 10 x 1: 5+",
			action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing", observe: true},
		{name: "a later step up does not", owned: halves, story: "3 kg x 15 x 1: 5+\n4 kg x 10 x 1: 5+\n4 kg x 10 x 1: 5+",
			action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing"},
		{name: "ready at the top with some left", owned: halves, story: "4 kg x 15 x 1: 2-4\n4 kg x 15 x 1: 5+",
			action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing", observe: true},
		{name: "build", owned: halves, story: "4 kg x 10 x 1: 2-4\n4 kg x 10 x 1: 5+", action: Reps, rule: RuleBuild, to: "4 kg x 12 x 1 standing"},
		{name: "build stops at the top", owned: halves, story: "4 kg x 14 x 1: 2-4\n4 kg x 14 x 1: 2-4", action: Reps, rule: RuleBuild, to: "4 kg x 15 x 1 standing"},
		{name: "build where the next load is a big step", owned: coarse, story: "4 kg x 12 x 1: 5+\n4 kg x 12 x 1: 5+",
			action: Reps, rule: RuleBuild, to: "4 kg x 14 x 1 standing"},
		{name: "alternating sides stay even", owned: halves, story: "4 kg x 12 x 1: 2-4\n4 kg x 12 x 1: 2-4",
			change: func(h *History) { h.Sides = coach.Alternating }, action: Reps, rule: RuleBuild, to: "4 kg x 14 x 1 standing"},
		{name: "fourteen is the top of alternating sides", owned: halves, story: "4 kg x 14 x 1: 2-4\n4 kg x 14 x 1: 2-4",
			change: func(h *History) { h.Sides = coach.Alternating }, action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing", observe: true},

		{name: "one bad day", owned: halves, story: "4 kg x 12 x 1: 2-4\n4 kg x 12 x 1: 2-4\n4 kg x 12 x 1: 0-1",
			action: Hold, rule: RuleShortOnce, to: "4 kg x 12 x 1 standing"},
		{name: "two bad days", owned: halves, story: "4 kg x 12 x 1: short 2-4\n4 kg x 12 x 1: 0-1", action: Down, rule: RuleShort, to: "3 kg x 12 x 1 standing"},
		{name: "a step up taken back", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+\n4.4 kg x 10 x 1: 0-1",
			action: Down, rule: RuleRevert, to: "4 kg x 15 x 1 standing"},
		{name: "more repetitions taken back", owned: halves, story: "4 kg x 10 x 1: 2-4\n4 kg x 10 x 1: 2-4\n4 kg x 12 x 1: short",
			action: Down, rule: RuleRevert, to: "4 kg x 10 x 1 standing"},
		{name: "a step down is not taken back", owned: halves, story: "4 kg x 10 x 1: 0-1\n4 kg x 10 x 1: 0-1\n3 kg x 10 x 1: 0-1",
			action: Down, rule: RuleShort, to: "2.5 kg x 10 x 1 standing"},
		{name: "a failed step is barred", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+\n4.4 kg x 10 x 1: 0-1\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			action: Hold, rule: RuleBarred, to: "4 kg x 15 x 1 standing"},
		{name: "a failed big step is barred", owned: coarse, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+\n5 kg x 8 x 1: short\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			action: Hold, rule: RuleBarred, to: "4 kg x 15 x 1 standing"},
		{name: "but not for ever", owned: halves, story: "4 kg x 15 x 1: 5+\n4.4 kg x 10 x 1: 0-1\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing"},

		{name: "an unanswered effort", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: ?", action: Hold, rule: RuleSteady, to: "4 kg x 15 x 1 standing"},
		{name: "an incomplete log", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: cut doubt",
			action: Hold, rule: RuleSteady, to: "4 kg x 15 x 1 standing", finding: true},
		{name: "cut counts neither way", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: cut\n4 kg x 15 x 1: 5+",
			action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing", observe: true},
		{name: "good after bad is steady", owned: halves, story: "4 kg x 12 x 1: 0-1\n4 kg x 12 x 1: 5+", action: Hold, rule: RuleSteady, to: "4 kg x 12 x 1 standing"},

		{name: "an uncleared stop", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			change: func(h *History) { h.Events = []Event{{Kind: StopEvent, At: at(1)}} },
			action: Hold, rule: RuleSymptom, to: "4 kg x 15 x 1 standing", finding: true},
		{name: "a stop at no known time can't be cleared by order of time", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			change: func(h *History) {
				h.Events = []Event{{Kind: StopEvent}}
				h.Clearances = []Clearance{{"R. Okafor", at(90)}}
			},
			action: Hold, rule: RuleSymptom, to: "4 kg x 15 x 1 standing", finding: true},
		{name: "one session since it was cleared", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			change: func(h *History) {
				h.Events = []Event{{Kind: ClosingEvent, At: at(0)}}
				h.Clearances = []Clearance{{"R. Okafor", at(1)}}
			},
			action: Hold, rule: RuleAfterSymptom, to: "4 kg x 15 x 1 standing"},
		{name: "two sessions since it was cleared", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			change: func(h *History) {
				h.Events = []Event{{Kind: NoAnswerEvent, At: at(0)}}
				h.Clearances = []Clearance{{"R. Okafor", at(1)}}
			},
			action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing", observe: true},

		{name: "fourteen days away", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+", days: 14, action: Down, rule: RuleGap, to: "3 kg x 15 x 1 standing"},
		{name: "thirteen are no gap", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+", days: 13, action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing", observe: true},
		{name: "a fortnightly visitor has no gap", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+", days: 20,
			change: func(h *History) {
				for i := range h.Sessions {
					h.Sessions[i].At = at(14*i - 22)
				}
			}, action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing", observe: true},
		{name: "once per gap", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+", days: 16,
			change: func(h *History) { d := parseDose(t, "3 kg x 15 x 1"); h.Planned = &d }, action: Hold, rule: RuleEarly, to: "3 kg x 15 x 1 standing"},
		{name: "twenty-eight days away", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+", days: 28,
			action: Hold, rule: RuleLongGap, to: "4 kg x 15 x 1 standing", finding: true},
		{name: "a stay in hospital", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			change: func(h *History) { h.Events = []Event{{Kind: AdmissionEvent, At: at(4)}} },
			action: Hold, rule: RuleLongGap, to: "4 kg x 15 x 1 standing", finding: true},
		{name: "and screened again", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			change: func(h *History) {
				h.Events = []Event{{Kind: AdmissionEvent, At: at(4)}}
				h.Clearances = []Clearance{{"R. Okafor", at(5)}}
			},
			action: Up, rule: RuleReady, to: "4.4 kg x 10 x 1 standing", observe: true},
		{name: "a dose not tried yet", owned: halves, story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			change: func(h *History) { d := parseDose(t, "4.4 kg x 10 x 1"); h.Planned = &d }, action: Hold, rule: RuleEarly, to: "4.4 kg x 10 x 1 standing"},

		{name: "an unmeasured band is a big step", owned: "band 1, 2, 3", story: "band 1 x 15 x 1: 5+\nband 1 x 15 x 1: 5+",
			action: Sets, rule: RuleMoreSets, to: "band 1 x 15 x 2 standing"},
		{name: "and with two sets it is stuck", owned: "band 1, 2, 3", story: "band 1 x 15 x 2: 5+\nband 1 x 15 x 2: 5+",
			action: Hold, rule: RuleStuck, to: "band 1 x 15 x 2 standing", finding: true},
		{name: "a measured band, small step", owned: "band 20, 22 N", story: "band 1 x 15 x 1: 5+\nband 1 x 15 x 1: 5+",
			action: Up, rule: RuleReady, to: "band 2 x 10 x 1 standing", observe: true},
		{name: "a measured band, big step", owned: "band 20, 25 N", story: "band 1 x 15 x 1: 5+\nband 1 x 15 x 1: 5+",
			action: Up, rule: RuleBigStep, to: "band 2 x 8 x 1 standing", observe: true},
		{name: "a band less", owned: "band 1, 2, 3", story: "band 2 x 15 x 1: 0-1\nband 2 x 15 x 1: 0-1", action: Down, rule: RuleShort, to: "band 1 x 15 x 1 standing"},

		{name: "body weight: a set first", story: "body x 15 x 1 easy: 5+\nbody x 15 x 1 easy: 5+", action: Sets, rule: RuleMoreSets, to: "body x 15 x 2 easy"},
		{name: "then a stage", story: "body x 15 x 2 easy: 5+\nbody x 15 x 2 easy: 5+", action: Stages, rule: RuleStage, to: "body x 10 x 2 mid"},
		{name: "not with less than plenty left", story: "body x 15 x 2 easy: 2-4\nbody x 15 x 2 easy: 5+", action: Hold, rule: RuleStuck, to: "body x 15 x 2 easy", finding: true},
		{name: "a precaution blocks the stage", story: "body x 15 x 2 mid: 5+\nbody x 15 x 2 mid: 5+",
			change: func(h *History) { h.Precautions = []coach.Precaution{{Kind: coach.PoorBalance}} },
			action: Hold, rule: RuleStuck, to: "body x 15 x 2 mid", finding: true},
		{name: "until it ends", story: "body x 15 x 2 mid: 5+\nbody x 15 x 2 mid: 5+",
			change: func(h *History) { h.Precautions = []coach.Precaution{{Kind: coach.PoorBalance, Until: "2026-03-01"}} },
			action: Stages, rule: RuleStage, to: "body x 10 x 2 hard"},
		{name: "an easier stage", story: "body x 12 x 1 mid: 0-1\nbody x 12 x 1 mid: 0-1", action: Down, rule: RuleShort, to: "body x 12 x 1 easy"},
		{name: "fewer repetitions", story: "body x 7 x 1 easy: 0-1\nbody x 7 x 1 easy: 0-1", action: Down, rule: RuleShort, to: "body x 6 x 1 easy"},
		{name: "nothing less", story: "body x 6 x 1 easy: 0-1\nbody x 6 x 1 easy: 0-1", action: Hold, rule: RuleShort, to: "body x 6 x 1 easy", finding: true},

		{name: "a ceiling leaves no heavier load", owned: halves, story: "4 kg x 15 x 2: 5+\n4 kg x 15 x 2: 5+",
			change: func(h *History) { h.Ceiling.Load = load(t, "4 kg") }, action: Hold, rule: RuleStuck, to: "4 kg x 15 x 2 standing", finding: true},
		{name: "a ceiling set below the dose", owned: halves, story: "4 kg x 15 x 2: 5+\n4 kg x 15 x 2: 5+",
			change: func(h *History) { h.Ceiling = Ceiling{Load: load(t, "3.5 kg"), Reps: 12, Sets: 1} },
			action: Down, rule: RuleStuck, to: "3 kg x 12 x 1 standing", finding: true},
		{name: "pounds next to kilograms", owned: "8, 9, 10 lb", story: "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+",
			action: Up, rule: RuleReady, to: "9 lb x 10 x 1 standing", observe: true},
		{name: "a hair heavier is no step", owned: "20, 20.1, 21, 24 kg", story: "20 kg x 15 x 1: 5+\n20 kg x 15 x 1: 5+",
			action: Up, rule: RuleReady, to: "21 kg x 10 x 1 standing", observe: true},
		{name: "exactly ten per cent is allowed", owned: "2, 2.2 kg", story: "2 kg x 15 x 1: 5+\n2 kg x 15 x 1: 5+",
			action: Up, rule: RuleReady, to: "2.2 kg x 10 x 1 standing", observe: true},
		{name: "a gram more is not", owned: "2, 2.201 kg", story: "2 kg x 15 x 1: 5+\n2 kg x 15 x 1: 5+",
			action: Up, rule: RuleBigStep, to: "2.201 kg x 10 x 1 standing", observe: true},
		{name: "eight sessions without a change", owned: halves, story: strings.Repeat("4 kg x 12 x 1: 0-1\n4 kg x 12 x 1: 5+\n", 4),
			action: Hold, rule: RuleSteady, to: "4 kg x 12 x 1 standing", finding: true},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := History{Exercise: curl, Sessions: story(t, c.story)}
			if strings.Contains(c.story, "body") {
				h.Exercise = rise
			}
			if c.change != nil {
				c.change(&h)
			}
			var o Owned
			if c.owned != "" {
				o = owned(t, c.owned)
			}
			got, err := Propose(protocol.Default(), o, h, after(h.Sessions, max(c.days, 2)))
			require.NoError(t, err)
			assert.Equal(t, c.rule, got.Rule)
			assert.Equal(t, c.action, got.Action)
			assert.Equal(t, c.to, show(got.To))
			assert.Equal(t, c.finding, got.Finding != "", "finding: %q", got.Finding)
			assert.Equal(t, c.observe, got.Observe, "observe")
			assert.NotEmpty(t, got.Reasons)
		})
	}
}

func TestNothingDoneYet(t *testing.T) {
	_, err := Propose(protocol.Default(), Owned{}, History{Exercise: curl}, firstDay)
	assert.ErrorContains(t, err, "nothing was done of biceps-curl yet")
}

// A precaution without a last day holds through the day its weeks are over, as
// a plan's does.
func TestWeeksOfAPrecaution(t *testing.T) {
	open := coach.Exercise{ID: "seated-row", Stages: []coach.Stage{{ID: "standing", Loads: []coach.LoadKind{coach.BandLoad},
		Bars: []coach.Bar{{Kind: coach.Sternum}}}}}
	h := History{Exercise: open, Sessions: story(t, "band 1 x 10 x 1: 5+\nband 1 x 10 x 1: 5+")}
	since := firstDay.AddDays(5 - 7*protocol.Default().Int(protocol.SternumWeeks))
	h.Precautions = []coach.Precaution{{Kind: coach.Sternum, Side: coach.Both, Since: since}}
	for day, barred := range map[coach.Day]bool{firstDay.AddDays(5): true, firstDay.AddDays(6): false} {
		got, err := Propose(protocol.Default(), Owned{}, h, day)
		require.NoError(t, err)
		assert.Equal(t, barred, strings.Contains(got.Finding, "a precaution"), "%s: %v", day, got)
	}
}

// A log without a trusted clock names no day, and no number of days.
func TestNoDayKnown(t *testing.T) {
	h := History{Exercise: curl, Sessions: []Session{{Dose: parseDose(t, "4 kg x 15 x 1"), Result: Cut, Worked: true, Doubtful: true}}}
	got, err := Propose(protocol.Default(), owned(t, "4, 4.4 kg"), h, firstDay)
	require.NoError(t, err)
	assert.Equal(t, RuleLongGap, got.Rule)
	assert.Equal(t, Hold, got.Action)
	assert.Equal(t, []string{"nobody knows when the last session was; screen again before the next session"}, got.Reasons)
}

// Two visits within 48 hours count as one, at the worse of both.
func TestSessionsCloseTogether(t *testing.T) {
	h := History{Exercise: curl, Sessions: story(t, "4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+")}
	o := owned(t, "4, 4.4 kg")
	h.Sessions[1].At = h.Sessions[0].At.Add(47 * time.Hour)
	got, err := Propose(protocol.Default(), o, h, after(h.Sessions, 1))
	require.NoError(t, err)
	assert.Equal(t, RuleEarly, got.Rule)
	require.Len(t, got.Sessions, 1)
	assert.Equal(t, []string{"s1", "s2"}, got.Sessions[0].IDs)

	h.Sessions[1].At = h.Sessions[0].At.Add(48 * time.Hour)
	got, err = Propose(protocol.Default(), o, h, after(h.Sessions, 1))
	require.NoError(t, err)
	assert.Equal(t, RuleReady, got.Rule)
}

func TestReasonsNameTheirSource(t *testing.T) {
	h := History{Exercise: curl, Sessions: story(t, "3 kg x 10 x 1: 5+\n4 kg x 15 x 1: 5+\n4 kg x 15 x 1: 5+")}
	got, err := Propose(protocol.Default(), owned(t, "4, 4.4 kg"), h, after(h.Sessions, 2))
	require.NoError(t, err)
	assert.Equal(t, []string{
		"last 2 sessions complete at 4 kg, 1 set of 15, standing with 5 or more left",
		"4.4 kg is 10.0 % up, limit 10 % (ACSM position stand, 2009; seen in the source)",
		"repetitions back to 10",
	}, got.Reasons)
}

func TestVisit(t *testing.T) {
	var all []Proposal
	for i, a := range []Action{Up, Hold, Up, Sets, Up, Up} {
		all = append(all, Proposal{Exercise: fmt.Sprint(i), Action: a, Rule: RuleReady, From: coach.Dose{Reps: 15}, To: coach.Dose{Reps: 10}})
	}
	got := Visit(protocol.Default(), all)
	for i := range 5 {
		assert.Equal(t, all[i], got[i])
	}
	assert.Equal(t, Hold, got[5].Action)
	assert.Equal(t, RuleVisit, got[5].Rule)
	assert.Equal(t, 15, got[5].To.Reps)
	assert.Equal(t, Up, all[5].Action, "what was given is left alone")
}
