package player

import (
	"unicode/utf8"

	"evenbell/audio"
	"evenbell/coach"
)

// How long a note takes to say depends on its text alone, not on whether a
// machine can speak it or with which voice: the cues after it are the same
// everywhere, and a log replays anywhere.
const (
	noteLead   = audio.Rate      // samples
	noteLetter = audio.Rate / 10 // samples a letter: slower than anybody speaks
)

// noteLength is how long the speaker takes for a note: at least as long as for
// the words that stand for it.
func noteLength(text string, words int) int {
	return max(words, noteLead+noteLetter*utf8.RuneCountInString(text))
}

// Type gives the sound of a note, mono at audio.Rate, to be spoken in place of
// the script's words for one. It is refused, and the words stay, where it
// would take longer than the text allows.
func (v *Speaker) Type(text string, pcm []int16) bool {
	ph := coach.Phrase{ID: coach.SayNote, Name: text}
	if len(pcm) == 0 || len(pcm) > int(v.Length(ph)) {
		return false
	}
	id := typedMark + text
	v.typed[id] = pcm
	v.known[ph] = []piece{{id: id, len: len(pcm)}}
	return true
}

// typedMark begins the id of what was typed; no clip's id has such a sign.
const typedMark = "\x00"
