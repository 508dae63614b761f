package script

import (
	"strings"

	"evenbell/coach"
)

// slotNames are the slots a sentence may have.
var slotNames = []string{"n", "set", "of", "half", "times", "time", "load", "name",
	"exercise", "set-up", "care", "out-as", "verb", "place", "note", "home-note", "emergency", "clock", "telephone"}

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
	case "telephone":
		return s.dial(coach.Telephone(p.Name))
	}
	return s.exerciseValue(slot, p)
}

// fill gives the clips' words and the written form of one segment. A segment
// with a slot that has nothing to say is left out: ok is false.
//
// It is one clip when it has no slot, or one slot with a common value.
func (s *Script) fill(seg segment, p coach.Phrase, value valuer) (pieces []piece, display string, ok bool) {
	values := make([]filled, 0, 2)
	for _, t := range seg {
		if t.slot == "" {
			continue
		}
		v, byHand := value(t.slot, p)
		if len(v) == 0 {
			return nil, "", false
		}
		joined := strings.Join(v, " ")
		common := s.common[t.slot][joined]
		if common {
			v = []string{joined}
		}
		values = append(values, filled{v, joined, byHand, common})
	}
	display = seg.with(values)
	if len(values) == 0 || len(values) == 1 && values[0].common {
		return []piece{{text: display, after: joinAfter(display)}}, display, true
	}
	next := 0
	for _, t := range seg {
		if t.slot == "" {
			pieces = withWords(pieces, t.words)
			continue
		}
		for _, v := range values[next].words {
			pieces = append(pieces, piece{v, joinAfter(v), values[next].typed})
		}
		next++
	}
	return pieces, display, true
}

// filled is what a slot says: the words of one clip after another, and joined;
// whether staff typed them, and whether they are recorded with the words around
// them.
type filled struct {
	words         []string
	joined        string
	typed, common bool
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

// dial gives a telephone number digit by digit, with a breath between its
// groups.
func (s *Script) dial(t coach.Telephone) []string {
	var out []string
	groups := t.Groups()
	for i, g := range groups {
		for _, r := range g {
			out = append(out, s.grammar.number(int(r-'0'), counting)...)
		}
		if i < len(groups)-1 {
			out[len(out)-1] += "."
		}
	}
	return out
}
