package class_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/class"
	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
	"evenbell/coach/station"
)

// quayside is the class of the test data, timed by the real sessions.
func quayside(t *testing.T) *class.Gym {
	const dir = "../../testdata/classes/"
	text, err := os.ReadFile(dir + "quayside.toml")
	require.NoError(t, err)
	c, faults := class.Read("quayside.toml", text, protocol.Default(), func(name string) (string, []byte, error) {
		text, err := os.ReadFile(dir + name)
		return name, text, err
	})
	require.NotNil(t, c, "%v", faults)
	voice, err := station.OpenVoice("en")
	require.NoError(t, err)
	t.Cleanup(func() { voice.Close() })
	speaker, err := voice.Patiently()
	require.NoError(t, err)
	g, err := class.Prepare(c, func(who coach.Programme) (lead, total int, err error) {
		heard, end := player.Dry(player.Config{Programme: &who, Voice: speaker, Patient: player.Willing})
		for _, e := range heard.Entries {
			if e.Kind == coach.EntryItemStart {
				return ceil(e.Sample), ceil(end), nil
			}
		}
		return 0, ceil(end), nil
	})
	require.NoError(t, err)
	return g
}

func ceil(n coach.Samples) int { return int((n.Time() + time.Second - 1) / time.Second) }

// The timetable holds a place exactly as long as the station's own session of
// the plan written for it takes, or, where a visit may be the first of the day
// or not, no shorter.
func TestVisitsLastAsLongAsTheirSessions(t *testing.T) {
	g := quayside(t)
	got, err := circuit.Solve(g.Problem, circuit.Options{Seed: 1, Iterations: 500})
	require.NoError(t, err)
	voice, err := station.OpenVoice("en")
	require.NoError(t, err)
	defer voice.Close()
	speaker, err := voice.Patiently()
	require.NoError(t, err)
	visits := 0
	for i := range g.Places {
		pl := g.PlanFor(got, i)
		for _, who := range pl.Patients {
			prog, err := pl.Resolve(who.Tag, pl.Day)
			require.NoError(t, err)
			_, end := player.Dry(player.Config{Programme: &prog, Voice: speaker, Patient: player.Willing})
			sound := ceil(end)
			if visits%8 == 0 { // the sound itself takes its time
				heard, err := renderedSeconds(&prog, speaker)
				require.NoError(t, err)
				require.Equal(t, sound, heard)
			}
			slot := slotAt(g, got, who.Tag, i)
			require.LessOrEqual(t, sound, slot.End-slot.Arrive, "%s at %s", who.Tag, g.Places[i].Name)
			if who.Part == coach.Middle {
				require.InDelta(t, sound, slot.End-slot.Arrive, 30, "%s at %s", who.Tag, g.Places[i].Name)
			}
			visits++
		}
	}
	require.Greater(t, visits, 20)
}

// renderedSeconds plays the whole session, with its sound, and counts it.
func renderedSeconds(prog *coach.Programme, speaker *player.Speaker) (int, error) {
	pl := player.New(player.Config{Programme: prog, Voice: speaker, Patient: player.Willing})
	block, n := make([]int16, 1<<15), 0
	for {
		k := pl.Render(block)
		if n += k; k < len(block) {
			return ceil(coach.Samples(n)), nil
		}
	}
}

func slotAt(g *class.Gym, t *circuit.Timetable, tag string, place int) circuit.Slot {
	for j, who := range g.Problem.Patients {
		for n, v := range who.Visits {
			if who.Tag == tag && v.Kind == circuit.Work && t.Slots[j][n].Place == place {
				return t.Slots[j][n]
			}
		}
	}
	return circuit.Slot{}
}

// The plans for the stations hold exactly the doses of their parent, and its
// approval ends with the first dose that is changed.
func TestPlansKeepTheApprovalOnlyWhileNoDoseChanged(t *testing.T) {
	g := quayside(t)
	got, err := circuit.Solve(g.Problem, circuit.Options{Seed: 1, Iterations: 500})
	require.NoError(t, err)
	items, first, last := map[string]int{}, map[string]int{}, map[string]int{}
	for i := range g.Places {
		pl := g.PlanFor(got, i)
		back, faults := plan.Read("p.toml", plan.Write(pl), nil)
		require.Empty(t, coach.Errors(faults))
		require.Equal(t, g.Plan.Fingerprint(), back.Approval.Parent)
		for _, v := range pl.Patients {
			items[v.Tag] += len(v.Items)
			if v.Part == coach.First {
				first[v.Tag]++
			}
			if v.Part == coach.Last {
				last[v.Tag]++
				require.True(t, v.CoolDownElsewhere)
				require.Equal(t, "the cool-down area", v.NextPlace)
			}
			require.NotEmpty(t, v.NextPlace)
			require.NotEmpty(t, v.NextAt)
		}
		pl.Patients[0].Items[0].Dose.Reps++
		_, faults = plan.Read("p.toml", plan.Write(pl), nil)
		require.NotEmpty(t, coach.Errors(faults))
		require.Contains(t, faults[0].Message+faults[len(faults)-1].Message, "approved")
	}
	for _, v := range g.Plan.Patients {
		require.Equal(t, len(v.Items), items[v.Tag], v.Tag)
		require.Equal(t, 1, first[v.Tag], v.Tag)
		require.Equal(t, 1, last[v.Tag], v.Tag)
	}
}

// At the desk a class names people, and their plan is put together there.
func TestClassOfPeople(t *testing.T) {
	text := []byte(`format = "class/1"
begins = "09:30"
walk = 15
[warm_up]
capacity = 4
[cool_down]
capacity = 4
[[place]]
name = "Bay 1"
positions = ["seated"]
[[patient]]
tag = "K4"
arrives = 60
`)
	c, faults := class.Read("class.toml", text, protocol.Default(), nil)
	require.NotNil(t, c, "%v", faults)
	require.Equal(t, []string{"K4"}, c.Tags)
	require.Equal(t, "09:31:05", c.At(65))
	_, faults = class.Read("class.toml", append(text, "[[patient]]\ntag = \"K4\"\n"...), protocol.Default(), nil)
	require.Contains(t, faults[0].Message, "given twice")
	_, faults = class.Read("class.toml", text[:len(text)-len("[[patient]]\ntag = \"K4\"\narrives = 60\n")], protocol.Default(), nil)
	require.Contains(t, faults[0].Message, "missing")
}
