package script

import (
	"fmt"
	"hash/fnv"
	"strings"
	"unicode"
)

// longestID is the length from which a clip's id is cut and told apart by a
// hash of all its words.
const longestID = 40

// newClip names a clip by its words.
func newClip(text string) Clip {
	text = strings.TrimRight(strings.TrimSpace(text), ".,:;")
	return Clip{ID: slug(text), Text: text}
}

// plainLetters writes letters with marks without them, so that an id is safe
// as a file name on every system.
var plainLetters = strings.NewReplacer("á", "a", "à", "a", "â", "a", "ä", "a", "ç", "c", "é", "e", "è", "e", "ê", "e",
	"ë", "e", "í", "i", "î", "i", "ï", "i", "ñ", "n", "ó", "o", "ô", "o", "ö", "o", "ú", "u", "ù", "u", "û", "u", "ü", "u")

// slug is the words in plain small letters joined by hyphens, cut where they
// are many.
func slug(text string) string {
	id := plainLetters.Replace(longSlug(text))
	if len(id) <= longestID {
		return id
	}
	h := fnv.New32a()
	h.Write([]byte(id))
	cut := strings.LastIndexByte(id[:longestID-9], '-')
	return fmt.Sprintf("%s-%08x", id[:max(cut, 1)], h.Sum32())
}

func longSlug(text string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			b.WriteRune(r)
		case r == '\'' || r == '’':
		default:
			b.WriteByte(' ')
		}
	}
	return strings.Join(strings.Fields(b.String()), "-")
}

// sentence writes the first letter, and each one after a full stop or a
// question mark, as a capital.
func sentence(s string) string {
	out := []rune(s)
	begin := true
	for i, r := range out {
		switch {
		case begin && unicode.IsLetter(r):
			out[i], begin = unicode.ToUpper(r), false
		case r == '.' || r == '?' || r == '!':
			begin = true
		case unicode.IsDigit(r):
			begin = false
		}
	}
	return string(out)
}
