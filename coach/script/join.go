package script

import (
	"strings"
	"unicode"
)

// Join is how a sentence goes on after a clip.
type Join int

// The joins, from the closest on.
const (
	Running  Join = iota // within a sentence, without a mark
	Comma                // after a comma, a colon or a semicolon
	FullStop             // at the end of a sentence
)

// piece is the words of one clip within a phrase, and what follows them.
type piece struct {
	text  string
	after Join
	typed bool // by staff
}

// joinAfter is the join that the marks at the end of some words ask for.
func joinAfter(words string) Join {
	words = strings.TrimSpace(words)
	return joinOf(words[len(strings.TrimRightFunc(words, isMark)):])
}

func isMark(r rune) bool { return unicode.IsPunct(r) || unicode.IsSpace(r) }

// joinOf is the widest join any of some marks asks for.
func joinOf(marks string) Join {
	switch {
	case strings.ContainsAny(marks, ".?!…"):
		return FullStop
	case strings.ContainsAny(marks, ",;:"):
		return Comma
	}
	return Running
}

// withWords adds fixed words to the pieces. Marks that come before the first
// of the words, or stand alone, belong to the piece before.
func withWords(pieces []piece, words string) []piece {
	if n := len(pieces); n > 0 {
		lead := words[:len(words)-len(strings.TrimLeftFunc(words, isMark))]
		pieces[n-1].after = max(pieces[n-1].after, joinOf(lead))
	}
	if spoken(words) {
		pieces = append(pieces, piece{text: words, after: joinAfter(words)})
	}
	return pieces
}
