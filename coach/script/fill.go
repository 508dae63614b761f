package script

import (
	"strings"

	"evenbell/coach"
)

// slotNames are the slots a sentence may have.
var slotNames = []string{"n", "set", "of", "half", "times", "time", "load", "name",
	"exercise", "set-up", "care", "out-as", "verb", "place", "note", "clock"}

// valuer gives what a slot says in a phrase, as the words of one clip after
// another, nothing when it has nothing to say; and whether staff typed it.
type valuer func(slot string, p coach.Phrase) (words []string, typed bool)

// value says what is in every pack: other words for what staff typed.
func (s *Script) value(slot string, p coach.Phrase) ([]string, bool) {
	if _, ok := s.typed(slot, p); ok {
		return s.standIn[slot], false
	}
	return s.packValue(slot, p), false
}

func (s *Script) packValue(slot string, p coach.Phrase) []string {
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
	case "clock":
		return s.grammar.clock(p.N)
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
func (s *Script) fill(seg segment, p coach.Phrase, value valuer) (pieces []piece, display string, ok bool) {
	values, typed := map[string][]string{}, map[string]bool{}
	for _, slot := range seg.slots() {
		v, byHand := value(slot, p)
		if len(v) == 0 {
			return nil, "", false
		}
		if joined := strings.Join(v, " "); s.common[slot][joined] {
			v = []string{joined}
		}
		values[slot], typed[slot] = v, byHand
	}
	display = seg.with(func(slot string) string { return strings.Join(values[slot], " ") })
	if s.whole(seg, values) {
		return []piece{{text: display, after: joinAfter(display)}}, display, true
	}
	for _, t := range seg {
		if t.slot == "" {
			pieces = withWords(pieces, t.words)
			continue
		}
		for _, v := range values[t.slot] {
			pieces = append(pieces, piece{v, joinAfter(v), typed[t.slot]})
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
