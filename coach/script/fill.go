package script

import (
	"strings"

	"evenbell/coach"
)

// slotNames are the slots a sentence may have.
var slotNames = []string{"n", "set", "of", "half", "times", "time", "load", "name",
	"exercise", "set-up", "care", "out-as", "verb"}

// value gives what a slot says in a phrase, as the words of one clip after
// another; nothing when it has nothing to say.
func (s *Script) value(slot string, p coach.Phrase) []string {
	slot, form, _ := strings.Cut(slot, formMark)
	switch slot {
	case "n", "set":
		return s.grammar.number(p.N, form)
	case "of":
		return s.grammar.number(p.Of, form)
	case "half":
		return s.grammar.number(p.N/2, form)
	case "times":
		return s.grammar.times(p.N)
	case "time":
		return s.grammar.time(p.Seconds)
	case "load":
		return s.grammar.load(p.Load)
	case "name":
		return s.spell(p.Name)
	}
	return s.exerciseValue(slot, p)
}

// fill gives the clips' words and the written form of one segment. A segment
// with a slot that has nothing to say is left out: ok is false.
//
// It is one clip when it has no slot, or one slot with a common value.
func (s *Script) fill(seg segment, p coach.Phrase) (pieces []piece, display string, ok bool) {
	values := map[string][]string{}
	for _, slot := range seg.slots() {
		v := s.value(slot, p)
		if len(v) == 0 {
			return nil, "", false
		}
		if joined := strings.Join(v, " "); s.common[slot][joined] {
			v = []string{joined}
		}
		values[slot] = v
	}
	display = seg.with(func(slot string) string { return strings.Join(values[slot], " ") })
	if s.whole(seg, values) {
		return []piece{{display, joinAfter(display)}}, display, true
	}
	for _, t := range seg {
		if t.slot == "" {
			pieces = withWords(pieces, t.words)
			continue
		}
		for _, v := range values[t.slot] {
			pieces = append(pieces, piece{v, joinAfter(v)})
		}
	}
	return pieces, display, true
}

// whole reports whether a segment with these values is recorded as one clip.
func (s *Script) whole(seg segment, values map[string][]string) bool {
	slots := seg.slots()
	if len(slots) == 0 {
		return true
	}
	return len(slots) == 1 && s.common[slots[0]][strings.Join(values[slots[0]], " ")]
}

// longestTag is how many letters and digits of a tag are spelled out.
const longestTag = 6

// spell gives a call word, or a short tag letter by letter; nothing for any
// other name.
func (s *Script) spell(name string) []string {
	if word, ok := s.calls[strings.ToLower(name)]; ok {
		return []string{word}
	}
	if len(name) > longestTag {
		return nil
	}
	var out []string
	for _, r := range strings.ToUpper(name) {
		switch {
		case r >= '0' && r <= '9':
			out = append(out, s.grammar.number(int(r-'0'), counting)...)
		case r >= 'A' && r <= 'Z':
			out = append(out, s.grammar.letter(r)...)
		default:
			return nil
		}
	}
	return out
}
