package script

import (
	"fmt"

	"evenbell/coach"
)

// grammar is how a language puts numbers, times and loads into words. Each
// method gives the words of one clip after another, all of them among atoms;
// nothing for what cannot be said, such as a negative number.
type grammar interface {
	// number puts a number as it is counted, or in one of the language's
	// forms, which a slot asks for after a colon: {of:f}.
	number(n int, form string) []string
	forms() []string        // the forms there are; none where numbers never change
	letter(r rune) []string // the name of a letter from A to Z
	times(n int) []string
	time(seconds int) []string
	clock(minutes int) []string // a time of day, in minutes from midnight
	load(l coach.Load) []string
	atoms() []string // the texts the other methods give besides numbers, for values that are not common
}

// words are the small words of a language, as its grammar names them.
type words map[string]any

// counting is the form of a number that stands by itself.
const counting = ""

// named reads one word for each key.
func (w words) named(keys []string) (map[string]string, error) {
	out := map[string]string{}
	for _, key := range keys {
		text, ok := w[key].(string)
		if !ok || text == "" {
			return nil, fmt.Errorf("words.%s: a word is needed here", key)
		}
		out[key] = text
	}
	return out, nil
}

// list reads n words that stand under one key.
func (w words) list(key string, n int) ([]string, error) {
	raw, _ := w[key].([]any)
	out := make([]string, 0, n)
	for _, v := range raw {
		text, _ := v.(string)
		if text != "" {
			out = append(out, text)
		}
	}
	if len(out) != n || len(raw) != n {
		return nil, fmt.Errorf("words.%s: %d words are needed here", key, n)
	}
	return out, nil
}

// atoms lists the words of keys, in their order.
func atoms(keys []string, word map[string]string) []string {
	var out []string
	for _, key := range keys {
		out = append(out, word[key])
	}
	return out
}

// grammars has each language's grammar, made from the words of its script.
var grammars = map[string]func(words) (grammar, error){
	"en": newEnglish,
	"es": newSpanish,
}
