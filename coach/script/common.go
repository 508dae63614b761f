package script

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"evenbell/coach"
)

// commonValues are the slot values recorded together with the words around
// them; any other value is put together from the grammar's atoms.
type commonValues struct {
	Set   []int        `toml:"set"`
	Of    []int        `toml:"of"`
	Half  []int        `toml:"half"`
	Times []int        `toml:"times"`
	Time  []int        `toml:"time"`
	Load  []coach.Load `toml:"load"`
}

// samples gives one phrase for each common value of a slot.
func (c commonValues) samples(slot string) []coach.Phrase {
	var out []coach.Phrase
	each := func(ns []int, phrase func(int) coach.Phrase) {
		for _, n := range ns {
			out = append(out, phrase(n))
		}
	}
	switch slot {
	case "set":
		each(c.Set, func(n int) coach.Phrase { return coach.Phrase{N: n} })
	case "times":
		each(c.Times, func(n int) coach.Phrase { return coach.Phrase{N: n} })
	case "half":
		each(c.Half, func(n int) coach.Phrase { return coach.Phrase{N: 2 * n} })
	case "of":
		each(c.Of, func(n int) coach.Phrase { return coach.Phrase{Of: n} })
	case "time":
		each(c.Time, func(n int) coach.Phrase { return coach.Phrase{Seconds: n} })
	case "load":
		for _, l := range c.Load {
			out = append(out, coach.Phrase{Load: l, Hands: 1}, coach.Phrase{Load: l, Hands: 2})
		}
	}
	return out
}

// spoken gives, for each slot, the common values as they are spoken.
func (c commonValues) spoken(g grammar) map[string]map[string]bool {
	s := &Script{grammar: g}
	out := map[string]map[string]bool{}
	for _, name := range slotNames {
		for _, slot := range append([]string{name}, formed(name, g.forms())...) {
			values := map[string]bool{}
			for _, p := range c.samples(name) {
				values[strings.Join(s.packValue(slot, p), " ")] = true
			}
			out[slot] = values
		}
	}
	return out
}

// formed is a slot in each form of a language.
func formed(slot string, forms []string) []string {
	var out []string
	for _, f := range forms {
		out = append(out, slot+formMark+f)
	}
	return out
}

// collect finds every clip: of each sentence the fixed words, each common
// value with the words around it, what each exercise fills in; and the
// grammar's atoms, the letters and the call words.
func (s *Script) collect(f file) error {
	for _, say := range []map[coach.PhraseID]map[string]template{s.say, s.atHome} {
		for _, id := range slices.Sorted(maps.Keys(say)) {
			for _, key := range slices.Sorted(maps.Keys(say[id])) {
				for _, seg := range say[id][key] {
					s.collectSegment(seg, key, slices.Contains(f.Brisk, id), f.Common)
				}
			}
		}
	}
	for n := range 101 {
		for _, text := range s.grammar.number(n, counting) {
			s.add(text, true) // a count
		}
		for _, form := range s.grammar.forms() {
			for _, text := range s.grammar.number(n, form) {
				s.add(text, false)
			}
		}
	}
	for _, words := range s.standIn {
		for _, text := range words {
			s.add(text, false)
		}
	}
	for _, text := range s.grammar.atoms() {
		s.add(text, false)
	}
	for r := 'A'; r <= 'Z'; r++ {
		for _, text := range s.grammar.letter(r) {
			s.add(text, false)
		}
	}
	for _, call := range s.CallWords() {
		s.add(s.calls[call], false)
	}
	return s.checkIDs()
}

// checkIDs refuses clips without words and ids that are not safe as file names.
func (s *Script) checkIDs() error {
	for _, id := range slices.Sorted(maps.Keys(s.clips)) {
		switch {
		case id == "":
			return fmt.Errorf("there is a clip without words")
		case strings.Trim(id, "abcdefghijklmnopqrstuvwxyz0123456789-") != "":
			return fmt.Errorf("the clip %q has a letter that no file name can have everywhere", id)
		}
	}
	return nil
}

func (s *Script) collectSegment(seg segment, key string, brisk bool, c commonValues) {
	slots := seg.slots()
	for _, t := range seg {
		if t.slot == "" && spoken(t.words) && len(slots) > 0 {
			s.add(t.words, brisk)
		}
	}
	if len(slots) == 0 {
		s.add(seg[0].words, brisk)
	}
	for _, slot := range slots {
		name, _, _ := strings.Cut(slot, formMark)
		for _, p := range append(c.samples(name), s.exercisePhrases(name)...) {
			if slot == "load" && key != only && key != loadVariant(p) {
				continue
			}
			alone := segment{{slot: slot}}
			if len(slots) == 1 {
				alone = seg
			}
			texts, _, _ := s.fill(alone, p, s.value)
			for _, t := range texts {
				s.add(t.text, brisk)
			}
		}
	}
}

// add notes a clip. Where one with the same words is known, that one stays,
// and is brisk if either is.
func (s *Script) add(text string, brisk bool) {
	c := newClip(text)
	if known, ok := s.clips[c.ID]; ok {
		c = known
	}
	c.Brisk = c.Brisk || brisk
	s.clips[c.ID] = c
}
