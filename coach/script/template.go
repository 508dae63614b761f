package script

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"

	"evenbell/coach"
)

// template is a sentence in segments, cut at its natural joins.
type template []segment

// segment is fixed words and slots in turn.
type segment []token

// formMark stands between a number's slot and the form it takes there.
const formMark = ":"

// token is fixed words, or a slot, with its form, when slot is not empty.
type token struct{ words, slot string }

// only is the variant of a sentence that has no variants.
const only = ""

func readTemplates(say map[string]any, forms []string) (map[coach.PhraseID]map[string]template, error) {
	out := map[coach.PhraseID]map[string]template{}
	for _, id := range slices.Sorted(maps.Keys(say)) {
		variants := map[string]template{}
		out[coach.PhraseID(id)] = variants
		switch v := say[id].(type) {
		case string:
			t, err := readTemplate(v, forms)
			if err != nil {
				return nil, fmt.Errorf("say.%s: %w", id, err)
			}
			variants[only] = t
		case map[string]any:
			for key, text := range v {
				words, ok := text.(string)
				if !ok {
					return nil, fmt.Errorf("say.%s.%s: a sentence is a string", id, key)
				}
				t, err := readTemplate(words, forms)
				if err != nil {
					return nil, fmt.Errorf("say.%s.%s: %w", id, key, err)
				}
				variants[key] = t
			}
		default:
			return nil, fmt.Errorf("say.%s: a sentence is a string or a table of variants", id)
		}
	}
	return out, nil
}

func readTemplate(text string, forms []string) (template, error) {
	var t template
	for _, part := range strings.Split(text, "|") {
		seg, err := readSegment(strings.TrimSpace(part), forms)
		if err != nil {
			return nil, err
		}
		t = append(t, seg)
	}
	return t, nil
}

func readSegment(text string, forms []string) (segment, error) {
	if text == "" {
		return nil, fmt.Errorf("there is nothing between two joins")
	}
	var seg segment
	for text != "" {
		open := strings.IndexByte(text, '{')
		if open < 0 {
			return append(seg, token{words: text}), nil
		}
		if open > 0 {
			seg = append(seg, token{words: text[:open]})
		}
		end := strings.IndexByte(text, '}')
		if end < open {
			return nil, fmt.Errorf("a slot in %q is not closed", text)
		}
		slot := text[open+1 : end]
		if err := checkSlot(slot, forms); err != nil {
			return nil, err
		}
		seg = append(seg, token{slot: slot})
		text = text[end+1:]
	}
	return seg, nil
}

// checkSlot refuses a slot nobody fills and a form the language has not.
func checkSlot(slot string, forms []string) error {
	name, form, formed := strings.Cut(slot, formMark)
	switch {
	case !slices.Contains(slotNames, name):
		return fmt.Errorf("there is no slot {%s}; there are %s", name, strings.Join(slotNames, ", "))
	case formed && !slices.Contains(forms, form):
		return fmt.Errorf("the slot {%s} asks for a form this language has not; its forms are %q", slot, forms)
	}
	return nil
}

// slots lists the slots of a segment.
func (seg segment) slots() []string {
	var out []string
	for _, t := range seg {
		if t.slot != "" {
			out = append(out, t.slot)
		}
	}
	return out
}

// with gives the segment's words with every slot filled, in their order.
func (seg segment) with(values []filled) string {
	var b strings.Builder
	for _, t := range seg {
		if t.slot == "" {
			b.WriteString(t.words)
			continue
		}
		b.WriteString(values[0].joined)
		values = values[1:]
	}
	return b.String()
}

// spoken reports whether text has a word in it, not only punctuation.
func spoken(text string) bool {
	return strings.IndexFunc(text, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }) >= 0
}
