package script

import "evenbell/coach"

// grammar is how a language puts numbers, times and loads into words. Each
// method gives the words of one clip after another, all of them among atoms;
// nothing for what cannot be said, such as a negative number.
type grammar interface {
	number(n int) []string
	times(n int) []string
	time(seconds int) []string
	load(l coach.Load) []string
	atoms() []string // the texts the other methods give besides numbers, for values that are not common
}

// words are the small words of a language, as its grammar names them.
type words map[string]any

// grammars has each language's grammar, made from the words of its script.
var grammars = map[string]func(words) (grammar, error){
	"en": newEnglish,
}
