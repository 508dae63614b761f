package speech

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
)

// LongestText is the most letters of a text that is spoken.
const LongestText = 200

// ErrUnspeakable marks a text that no program here can speak.
var ErrUnspeakable = errors.New("the text cannot be spoken")

// punctuation is what a program may read besides letters and digits.
const punctuation = ".,;:?!'-()%&+/¿¡"

// Clean gives the words of a text as a program may have them: letters of the
// Latin alphabet, digits and plain punctuation, with single spaces. It refuses
// a text that is too long, has no word in it, or is written in letters that
// would be left out.
func Clean(text string) (string, error) {
	var b strings.Builder
	letters, words := 0, false
	for _, r := range text {
		if letters++; letters > LongestText {
			return "", fmt.Errorf("%w: it is longer than %d letters", ErrUnspeakable, LongestText)
		}
		switch {
		case r == '’' || r == '‘':
			b.WriteByte('\'')
		case unicode.Is(unicode.Latin, r) || '0' <= r && r <= '9':
			words = true
			b.WriteRune(r)
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			return "", fmt.Errorf("%w: %q is a letter of another alphabet", ErrUnspeakable, r)
		case strings.ContainsRune(punctuation, r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	if !words {
		return "", fmt.Errorf("%w: there is no word in it", ErrUnspeakable)
	}
	return strings.Join(strings.Fields(b.String()), " "), nil
}

// plain reports whether a text has no letter with a mark.
func plain(text string) bool {
	return strings.IndexFunc(text, func(r rune) bool { return r > unicode.MaxASCII }) < 0
}
