package picture

import (
	"fmt"
	"strings"

	"evenbell/coach"
)

// flagKind is what a flag stands for; each has a shape of its own.
type flagKind int

const (
	pressFlag flagKind = iota // an arrow down
	askFlag                   // a diamond
	noteFlag                  // a square
)

// volumeWord begins what a press that changed the volume did.
const volumeWord = "volume"

// flag is something worth a label at one sample, above the band.
type flag struct {
	at     coach.Samples
	kind   flagKind
	button coach.Button // of a press
	label  string       // of anything else
	did    string       // what a press did, where it did more than answer
	says   coach.Phrase // of a question
}

func (b *reader) press(d *coach.PressData) {
	b.end = max(b.end, d.At)
	b.flags = append(b.flags, flag{at: d.At, kind: pressFlag, button: d.Button})
	b.leave(d.At, waiting)
}

// because says what the press at this sample did; without one it is a note.
func (b *reader) because(at coach.Samples, what string) {
	if i := len(b.flags) - 1; i >= 0 && b.flags[i].kind == pressFlag && b.flags[i].at == at {
		if b.flags[i].did != "" {
			what = b.flags[i].did + ", " + what
		}
		b.flags[i].did = what
		return
	}
	b.note(at, what)
}

func (b *reader) note(at coach.Samples, what string) {
	b.flags = append(b.flags, flag{at: at, kind: noteFlag, label: what})
}

// ask opens a question, or marks that it was asked again.
func (b *reader) ask(c coach.Cue) {
	f := flag{at: c.At, kind: askFlag, says: c.Phrase, label: "asked again"}
	if b.asked < 0 || b.askID != string(c.Phrase.ID) {
		b.answered("")
		f.label = questionWords(c.Phrase.ID)
		b.asked, b.askID = len(b.flags), string(c.Phrase.ID)
	}
	b.flags = append(b.flags, f)
}

// answered closes the open question; an empty answer means that none came.
func (b *reader) answered(answer string) {
	if b.asked < 0 {
		return
	}
	if answer == "" {
		answer = "not answered"
	}
	b.flags[b.asked].label += " " + answer
	b.asked = -1
}

// raised is a label with its place in a row.
type raised struct {
	flag
	xs    []px // where it points: one place, or those of several presses
	wide  px
	level int // from 0, the nearest to the band
}

// flagSize is the font size of flags.
const flagSize = 12

// text is what the label says.
func (r *raised) text() string {
	if r.kind != pressFlag {
		return r.label
	}
	s := string(r.button)
	if len(r.xs) > 1 {
		s += fmt.Sprintf(" ×%d", len(r.xs))
	}
	if r.did != "" && r.did != string(r.button) {
		s += ": " + r.did
	}
	return s
}

// gather puts the flags of a row under as few labels as tell them apart:
// presses of one button so close that their labels would touch share one,
// which says what the last of them did.
func gather(fs []flag, x func(coach.Samples) px) []raised {
	var out []raised
	for _, f := range fs {
		r := raised{flag: f, xs: []px{x(f.at)}}
		r.wide = width(r.text(), flagSize)
		if i := len(out) - 1; i >= 0 && out[i].shares(&r) {
			o := &out[i]
			o.xs, o.did = append(o.xs, r.xs[0]), f.did
			o.wide = width(o.text(), flagSize)
			continue
		}
		out = append(out, r)
	}
	return out
}

// shares reports whether a press can stand under the label of one before it.
func (r *raised) shares(next *raised) bool {
	volume := strings.HasPrefix(r.did, volumeWord) && strings.HasPrefix(next.did, volumeWord)
	return r.kind == pressFlag && next.kind == pressFlag && r.button == next.button &&
		(r.did == "" && next.did == "" || volume) && next.xs[0] < r.xs[0]+r.wide+u(8)
}

// raise gives each label a level at which no label covers another and no
// pole crosses a label: each stands above all that begin within its width.
func raise(fs []raised) (levels int) {
	for i := len(fs) - 1; i >= 0; i-- {
		for j := i + 1; j < len(fs) && fs[j].xs[0] < fs[i].xs[0]+fs[i].wide+u(10); j++ {
			fs[i].level = max(fs[i].level, fs[j].level+1)
		}
		levels = max(levels, fs[i].level+1)
	}
	return levels
}
