package script

import (
	"maps"
	"slices"

	"evenbell/coach"
)

// Form is what there is to say about one way to do an exercise.
type Form struct {
	Name   string   // of the exercise, as in the middle of a sentence
	SetUp  string   // how to get into position
	Care   string   // the one caution that matters
	OutAs  string   // the breathing cue of the effort
	Lift   string   // the verb of the effort
	Lower  string   // the verb of giving way
	Remind []string // reminders of good form, for staff pages: not spoken
	Fault  string   // the common fault to avoid, for staff pages: not spoken
}

// exerciseWords are the words of one exercise as a script writes them.
type exerciseWords struct {
	Name   string                `toml:"name"`
	Lift   string                `toml:"lift"`
	Lower  string                `toml:"lower"`
	OutAs  string                `toml:"out-as"`
	Remind []string              `toml:"remind"`
	Fault  string                `toml:"fault"`
	Stage  map[string]stageWords `toml:"stage"`
}

// stageWords are the words of one stage; its verbs and its breathing cue, if
// it has them, go before those of the exercise.
type stageWords struct {
	SetUp string `toml:"set-up"`
	Care  string `toml:"care"`
	OutAs string `toml:"out-as"`
	Lift  string `toml:"lift"`
	Lower string `toml:"lower"`
}

// Form gives the words of an exercise's stage; false where it has none.
func (s *Script) Form(exercise, stage string) (Form, bool) {
	if own, ok := s.own[exercise]; ok {
		f, _ := s.Form(own.VerbsOf, own.VerbsStage)
		return Form{Name: own.Name, SetUp: own.SetUp, Care: own.Care, OutAs: f.OutAs, Lift: f.Lift, Lower: f.Lower}, true
	}
	e := s.exercises[exercise]
	st, ok := e.Stage[stage]
	f := Form{Name: e.Name, SetUp: st.SetUp, Care: st.Care, OutAs: e.OutAs, Lift: e.Lift, Lower: e.Lower,
		Remind: slices.Clone(e.Remind), Fault: e.Fault}
	for _, own := range []struct {
		to   *string
		from string
	}{{&f.OutAs, st.OutAs}, {&f.Lift, st.Lift}, {&f.Lower, st.Lower}} {
		if own.from != "" {
			*own.to = own.from
		}
	}
	return f, ok
}

// exerciseValue gives what an exercise or its stage says in a slot.
func (s *Script) exerciseValue(slot string, p coach.Phrase) []string {
	f, _ := s.Form(p.Exercise, p.Stage)
	text := ""
	switch slot {
	case "exercise":
		text = f.Name
	case "set-up":
		text = f.SetUp
	case "care":
		text = f.Care
	case "out-as":
		text = f.OutAs
	case "verb":
		text = f.Lift
		if p.Phase == coach.Lower {
			text = f.Lower
		}
	}
	if text == "" {
		return nil
	}
	return []string{text}
}

// exercisePhrases gives a phrase for everything the exercises say in a slot.
func (s *Script) exercisePhrases(slot string) []coach.Phrase {
	var out []coach.Phrase
	for _, id := range slices.Sorted(maps.Keys(s.exercises)) {
		for _, stage := range append(slices.Sorted(maps.Keys(s.exercises[id].Stage)), "") {
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
