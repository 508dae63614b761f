package main

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/plan"
	"evenbell/coach/player"
	"evenbell/coach/protocol"
	"evenbell/coach/station"
)

// The timetable holds a place exactly as long as the station's own session of
// the plan written for it takes, or, where a visit may be the first of the day
// or not, no shorter.
func TestVisitsLastAsLongAsTheirSessions(t *testing.T) {
	p := &program{os.Stdin, os.Stdout, os.Stderr}
	c, err := p.readClass("../../testdata/classes/quayside.toml", protocol.Default())
	require.NoError(t, err)
	g, err := prepareClass(c)
	require.NoError(t, err)
	got, err := circuit.Solve(g.problem, circuit.Options{Seed: 1, Iterations: 500})
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, g.writePlans(got, dir))
	voice, err := station.OpenVoice("en")
	require.NoError(t, err)
	defer voice.Close()
	speaker, err := voice.Patiently()
	require.NoError(t, err)
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	visits := 0
	for i := range g.Places {
		pl := g.planFor(got, i)
		for _, who := range pl.Patients {
			prog, err := pl.Resolve(who.Tag, pl.Day)
			require.NoError(t, err)
			sound, err := renderedSeconds(&prog, speaker)
			require.NoError(t, err)
			slot := slotAt(g, got, who.Tag, i)
			require.LessOrEqual(t, sound, slot.End-slot.Arrive, "%s at %s", who.Tag, g.Places[i].Name)
			if who.Part == coach.Middle {
				require.InDelta(t, sound, slot.End-slot.Arrive, 30, "%s at %s", who.Tag, g.Places[i].Name)
			}
			visits++
		}
	}
	require.Len(t, files, len(g.Places))
	require.Greater(t, visits, 20)
}

// renderedSeconds plays the whole session, with its sound, and counts it.
func renderedSeconds(prog *coach.Programme, speaker *player.Speaker) (int, error) {
	pl := player.New(player.Config{Programme: prog, Voice: speaker, Patient: player.Willing})
	block, n := make([]int16, 1<<15), 0
	for {
		k := pl.Render(block)
		if n += k; k < len(block) {
			return seconds(coach.Samples(n)), nil
		}
	}
}

func slotAt(g *gymClass, t *circuit.Timetable, tag string, place int) circuit.Slot {
	for j, who := range g.problem.Patients {
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
	p := &program{os.Stdin, os.Stdout, os.Stderr}
	c, err := p.readClass("../../testdata/classes/quayside.toml", protocol.Default())
	require.NoError(t, err)
	g, err := prepareClass(c)
	require.NoError(t, err)
	got, err := circuit.Solve(g.problem, circuit.Options{Seed: 1, Iterations: 500})
	require.NoError(t, err)
	items, first, last := map[string]int{}, map[string]int{}, map[string]int{}
	for i := range g.Places {
		pl := g.planFor(got, i)
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
