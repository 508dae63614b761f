package script

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"evenbell/coach"
)

// typedSlots are the slots that may hold what staff typed. A script has words
// to stand in for each.
var typedSlots = []string{"exercise", "set-up", "care", "place", "note", "home-note", "emergency"}

func readStandIns(written map[string]string) (map[string][]string, error) {
	out := map[string][]string{}
	for slot, text := range written {
		if !slices.Contains(typedSlots, slot) {
			return nil, fmt.Errorf("stand-in.%s: nobody types that; there are %s", slot, strings.Join(typedSlots, ", "))
		}
		for _, part := range strings.Split(text, "|") {
			part = strings.TrimSpace(part)
			if !spoken(part) || strings.ContainsAny(part, "{}") {
				return nil, fmt.Errorf("stand-in.%s: %q is no words to say", slot, text)
			}
			out[slot] = append(out[slot], part)
		}
	}
	return out, nil
}

// With is the script with the words of a clinic's own exercises.
func (s *Script) With(own []coach.OwnExercise) *Script {
	c := *s
	c.own = map[string]coach.OwnExercise{}
	for _, e := range own {
		c.own[e.ID] = e
	}
	return &c
}

// typed gives what staff typed for a slot of a phrase; false where nobody
// types it. Where it is typed but not known it is empty.
func (s *Script) typed(slot string, p coach.Phrase) (string, bool) {
	switch slot {
	case "place", "note", "home-note", "emergency":
		return p.Name, true
	case "exercise", "set-up", "care":
		if !coach.IsOwn(p.Exercise) {
			return "", false
		}
	default:
		return "", false
	}
	own := s.own[p.Exercise]
	return map[string]string{"exercise": own.Name, "set-up": own.SetUp, "care": own.Care}[slot], true
}

// typedValue says what staff typed as they typed it.
func (s *Script) typedValue(slot string, p coach.Phrase) ([]string, bool) {
	if text, ok := s.typed(slot, p); ok && spoken(text) {
		return []string{text}, true
	}
	return s.value(slot, p)
}

// SayTyped gives the clips of a phrase with what staff typed in it, each marked
// so; false where nothing in it is typed.
func (s *Script) SayTyped(p coach.Phrase) ([]Clip, bool) {
	clips := s.clipsOf(p, s.typedValue)
	return clips, slices.ContainsFunc(clips, func(c Clip) bool { return c.Typed })
}

// TextTyped gives the whole sentence that SayTyped speaks.
func (s *Script) TextTyped(p coach.Phrase) string { return s.textOf(p, s.typedValue) }

// Lines are Clips and, of each exercise that With gave, the words staff typed:
// what a person records so that no machine has to speak them.
func (s *Script) Lines() []Clip {
	all := maps.Clone(s.clips)
	for _, e := range s.own {
		for _, text := range e.Typed() {
			c := newClip(text)
			if _, known := all[c.ID]; !known && c.ID != "" {
				all[c.ID] = c
			}
		}
	}
	return byID(all)
}
