package player

import (
	"unicode/utf8"

	"evenbell/audio"
	"evenbell/coach"
	"evenbell/coach/script"
)

// How long a sentence with something typed in it takes depends on the text
// alone, not on whether a machine can speak it or with which voice: the cues
// after it are the same everywhere, and a log replays anywhere.
const (
	typedLead   = audio.Rate      // samples
	typedLetter = audio.Rate / 10 // samples a letter: slower than anybody speaks
)

// TypedLength is the most samples at audio.Rate that a typed text may take,
// whoever speaks it.
func TypedLength(text string) int { return typedLead + typedLetter*utf8.RuneCountInString(text) }

// allowed is how long a sentence takes with all that is typed in it at its
// longest; 0 where nothing is.
func (v *Speaker) allowed(ph coach.Phrase) int {
	clips, ok := v.script.SayTyped(ph)
	if !ok {
		return 0
	}
	long := v.lay(clips, func(c script.Clip) int {
		if c.Typed {
			return TypedLength(c.Text)
		}
		return v.length(c)
	})
	return max(end(long), end(v.lay(v.script.Say(ph), v.length)))
}

// asTyped lays out a sentence with what staff typed in it; false where nothing
// is typed, or not all of it can be spoken. What somebody recorded goes before
// what a machine spoke, and a recording of these very words before one in the
// voice pack.
func (v *Speaker) asTyped(ph coach.Phrase) ([]piece, bool) {
	clips, ok := v.script.SayTyped(ph)
	if !ok {
		return nil, false
	}
	for i, c := range clips {
		if !c.Typed || v.recorded[c.Text] {
			continue
		}
		if n := v.length(c); n > 0 && n <= TypedLength(c.Text) {
			clips[i].Typed = false // it is the pack's
		} else if v.typed[c.Text] == nil {
			return nil, false
		}
	}
	ps := v.lay(clips, func(c script.Clip) int {
		if c.Typed {
			return len(v.typed[c.Text])
		}
		return v.length(c)
	})
	return ps, end(ps) <= v.allowed(ph)
}

// Type gives the sound of a text that staff typed, mono at audio.Rate, to be
// spoken in place of the script's other words for it. It is refused, and those
// words stay, where it would take longer than the text allows.
func (v *Speaker) Type(text string, pcm []int16) bool {
	if len(pcm) == 0 || len(pcm) > TypedLength(text) {
		return false
	}
	v.typed[text] = pcm
	clear(v.known)
	return true
}

// Record is Type for a text that somebody recorded.
func (v *Speaker) Record(text string, pcm []int16) bool {
	if !v.Type(text, pcm) {
		return false
	}
	v.recorded[text] = true
	return true
}
