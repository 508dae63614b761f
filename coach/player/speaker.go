package player

import (
	"fmt"

	"evenbell/audio"
	"evenbell/coach"
	"evenbell/coach/script"
)

// The silence between two clips of a phrase, in samples, by how the sentence
// goes on: a breath between sentences, a short stop at a comma. Within a
// sentence clips overlap by crossFade instead and run into each other. common
// practice, no source.
const (
	fullStop  = audio.Rate * 220 / 1000
	comma     = audio.Rate * 90 / 1000
	crossFade = audio.Rate * 8 / 1000
)

// Lengths tells how long a clip is without decoding it.
type Lengths interface {
	// Length is the clip's length in samples at audio.Rate; false if the pack
	// has no such clip.
	Length(id string) (int, bool)
}

// Speaker has the words of a language and the clips that speak them. It is
// not safe for concurrent use.
type Speaker struct {
	script   *script.Script
	lengths  Lengths
	decoded  func(id string) audio.Clip
	ahead    func(ph coach.Phrase, ids []string) // may be nil
	known    map[coach.Phrase][]piece
	typed    map[string][]int16 // by text
	recorded map[string]bool    // those of typed that somebody recorded
	ids      []string           // told last
}

// piece is one clip of a sentence.
type piece struct {
	id  string
	at  int // samples from the start of the sentence
	len int
	// in and out are how many samples of its edges are cross-faded.
	in, out int
	typed   bool // id is then the text
}

// NewSpeaker joins a script to a voice pack. clip gives a clip, or the zero one
// where it is not to be had now. A pack that lacks one of the
// script's clips is refused.
func NewSpeaker(sc *script.Script, pack Lengths, clip func(id string) audio.Clip) (*Speaker, error) {
	for _, c := range sc.Clips() {
		if _, ok := pack.Length(c.ID); !ok {
			return nil, fmt.Errorf("the voice pack has no clip %q (%q)", c.ID, c.Text)
		}
	}
	return &Speaker{script: sc, lengths: pack, decoded: clip, known: make(map[coach.Phrase][]piece),
		typed: make(map[string][]int16), recorded: make(map[string]bool)}, nil
}

// Ahead makes the speaker tell of each phrase that may soon be spoken, and of
// its clips of the pack, so that they can be decoded by then: a session asks
// for a phrase's length when it lays out what comes next. tell must not wait,
// and must not keep ids.
func (v *Speaker) Ahead(tell func(ph coach.Phrase, ids []string)) { v.ahead = tell }

// Length is how many samples a phrase takes to say. It implements
// session.Speech.
func (v *Speaker) Length(ph coach.Phrase) coach.Samples {
	ps := v.pieces(ph)
	if v.ahead != nil {
		v.ids = v.ids[:0]
		for _, p := range ps {
			if !p.typed {
				v.ids = append(v.ids, p.id)
			}
		}
		v.ahead(ph, v.ids)
	}
	return coach.Samples(max(end(ps), v.allowed(ph)))
}

// Text is the sentence as it is spoken; empty for the zero Phrase.
func (v *Speaker) Text(ph coach.Phrase) string {
	if ph.ID == "" {
		return ""
	}
	if _, ok := v.asTyped(ph); ok {
		return v.script.TextTyped(ph)
	}
	return v.script.Text(ph)
}

func (v *Speaker) clip(p piece) audio.Clip {
	if p.typed {
		return audio.NewClip(v.typed[p.id])
	}
	return v.decoded(p.id)
}

// say speaks a phrase from a sample on. A clip that is not to be had now stays
// silent.
func (v *Speaker) say(mix *audio.Mixer, at int64, ph coach.Phrase) {
	for _, p := range v.pieces(ph) {
		mix.Join(at+int64(p.at), v.clip(p), p.in, p.out)
	}
}

// pieces lays the clips of a phrase out one after the other.
func (v *Speaker) pieces(ph coach.Phrase) []piece {
	if ph.ID == "" {
		return nil
	}
	if ps, ok := v.known[ph]; ok {
		return ps
	}
	ps, ok := v.asTyped(ph)
	if !ok {
		ps = v.lay(v.script.Say(ph), v.length)
	}
	v.known[ph] = ps
	return ps
}

// length is how long a clip of the pack is.
func (v *Speaker) length(c script.Clip) int {
	n, _ := v.lengths.Length(c.ID)
	return n
}

// lay puts clips one after the other.
func (v *Speaker) lay(clips []script.Clip, length func(script.Clip) int) (ps []piece) {
	at, in := 0, 0
	for i, c := range clips {
		n := length(c)
		p := piece{id: c.ID, at: at, len: n, in: in}
		if c.Typed && v.typed[c.Text] != nil {
			p.id, p.typed = c.Text, true
		}
		at, in = at+n, 0
		switch {
		case i == len(clips)-1:
		case c.After == script.FullStop:
			at += fullStop
		case c.After == script.Comma:
			at += comma
		default:
			in = min(crossFade, n/2, length(clips[i+1])/2)
			p.out, at = in, at-in
		}
		ps = append(ps, p)
	}
	return ps
}

// end is where the last of some pieces ends.
func end(ps []piece) int {
	if len(ps) == 0 {
		return 0
	}
	last := ps[len(ps)-1]
	return last.at + last.len
}
