package script

import (
	"maps"
	"slices"

	"evenbell/coach"
)

// exerciseWords are the words of one exercise.
type exerciseWords struct {
	Name  string                `toml:"name"`
	Stage map[string]stageWords `toml:"stage"`
}

// stageWords are the words of one way to do an exercise.
type stageWords struct {
	SetUp string `toml:"set_up"` // how to get into position
	Care  string `toml:"care"`   // the one caution that matters
	OutAs string `toml:"out_as"` // the breathing cue
	Lift  string `toml:"lift"`   // the verbs of the two phases
	Lower string `toml:"lower"`
}

// exerciseValue gives what an exercise or its stage says in a slot.
func (s *Script) exerciseValue(slot string, p coach.Phrase) []string {
	e := s.exercises[p.Exercise]
	text := ""
	switch slot {
	case "exercise":
		text = e.Name
	case "set-up":
		text = e.Stage[p.Stage].SetUp
	case "care":
		text = e.Stage[p.Stage].Care
	case "out-as":
		text = e.Stage[p.Stage].OutAs
	case "verb":
		text = e.Stage[p.Stage].verb(p.Phase)
	}
	if text == "" {
		return nil
	}
	return []string{text}
}

func (w stageWords) verb(p coach.Phase) string {
	switch p {
	case coach.Lift:
		return w.Lift
	case coach.Lower:
		return w.Lower
	}
	return ""
}

// exercisePhrases gives a phrase for everything the exercises say in a slot.
func (s *Script) exercisePhrases(slot string) []coach.Phrase {
	var out []coach.Phrase
	for _, id := range slices.Sorted(maps.Keys(s.exercises)) {
		for _, stage := range slices.Sorted(maps.Keys(s.exercises[id].Stage)) {
			for _, phase := range []coach.Phase{coach.Lift, coach.Lower} {
				p := coach.Phrase{Exercise: id, Stage: stage, Phase: phase}
				if len(s.exerciseValue(slot, p)) > 0 {
					out = append(out, p)
				}
			}
		}
	}
	return out
}
