package coach

import (
	"fmt"
	"strings"
	"unicode"
)

// Home is what a session goes by where nobody of staff is near: at the home of
// the person who exercises.
type Home struct {
	Telephone Telephone // of the clinic: whom to ring
	// Emergency is what to do there in an emergency, as staff typed it, spoken
	// after a stop; the script's own words stand for an empty one.
	Emergency string
	Alone     bool // lives alone
	// DaysBetween is how many whole days lie at least between two days with
	// exercise: with 1, after Monday comes Wednesday.
	DaysBetween int
}

// Telephone is a number as it is dialled: digits, in groups.
type Telephone string

// The least digits are those of a short number of a house or a country, the
// most those of any (ITU-T E.164, from memory).
const (
	fewestDigits = 3
	mostDigits   = 15
)

// ParseTelephone reads a number. Groups of digits are parted by blanks,
// hyphens, dots, strokes or brackets.
func ParseTelephone(s string) (Telephone, error) {
	digits := 0
	for _, r := range s {
		switch {
		case r >= '0' && r <= '9':
			digits++
		case !strings.ContainsRune(" -./()", r):
			return "", fmt.Errorf("%q is no number to dial; digits as they are dialled from there, in groups: \"020 912 0456\", and 00 in place of +", s)
		}
	}
	if digits < fewestDigits || digits > mostDigits {
		return "", fmt.Errorf("%q has %d digits; from %d to %d", s, digits, fewestDigits, mostDigits)
	}
	return Telephone(s), nil
}

// mostInGroup is how many digits are told in one breath. common practice, no
// source.
const mostInGroup = 4

// Groups are the digits as they are told: as they are written, but no more
// than four together, a longer group in as few and as even pieces as there can
// be.
func (t Telephone) Groups() []string {
	var out []string
	for _, g := range strings.FieldsFunc(string(t), func(r rune) bool { return !unicode.IsDigit(r) }) {
		for pieces := (len(g) + mostInGroup - 1) / mostInGroup; pieces > 0; pieces-- {
			n := (len(g) + pieces - 1) / pieces
			out, g = append(out, g[:n]), g[n:]
		}
	}
	return out
}
