package picture

import (
	"fmt"

	"evenbell/coach"
)

// sheet draws rows.
type sheet struct {
	pen
	rec  *record
	text func(coach.Phrase) string
}

// Inside the band: the strip of breathing marks, the end of the lift and the
// end of the lower, from the band's top.
const (
	breathAt = 8
	highAt   = 17
	lowAt    = bandRoom - 6
)

// row draws a row whose top is at y.
func (s *sheet) row(r *row, y px) {
	c := s.rec.chapters[r.chapter]
	if !r.first {
		c = chapter{title: c.title + ", continued"}
	}
	s.head(c, y+u(14))
	y += u(headRoom)
	if r.lead {
		s.sets(r, y+u(10))
		y += u(setRoom)
	}
	band := y + u(flagRoom*r.levels+poleRoom)
	foot := band + u(bandRoom)
	for i := range r.pieces {
		s.ground(&r.pieces[i], band)
	}
	for i := range r.pieces {
		s.movement(&r.pieces[i], band)
	}
	s.small(r, band)
	s.flags(r, band)
	if r.lead {
		s.reps(r, foot+u(11))
		foot += u(repRoom)
	}
	s.axis(r, foot)
	s.stops(r, band)
}

// head writes a chapter's title, its dose and what was said of it.
func (s *sheet) head(c chapter, y px) {
	s.pen.text(u(left), y, words{size: 14, bold: true}, c.title)
	if c.dose != "" {
		s.pen.text(u(left)+width(c.title, 14)+u(26), y, words{size: 12}, c.dose)
	}
	if c.took != "" {
		s.pen.text(u(left+plot), y, words{size: 12, anchor: "end"}, c.took)
	}
}

// ground draws what a piece stands on: plain for talk and sets, a pattern and
// a label with its length for anything else.
func (s *sheet) ground(p *piece, y px) {
	w, h := p.wide(), u(bandRoom)
	switch p.kind {
	case talk:
		s.rect(p.x, y, w, h, "none", frame)
		return
	case set:
		s.rect(p.x, y, w, h, "#f6fafb", frame)
		return
	}
	name, length, inFull := p.labels()
	s.told(name + " " + inFull)
	s.rect(p.x, y, w, h, "#ffffff", "none")
	s.rect(p.x, y, w, h, fmt.Sprintf("url(#eb-%s)", pattern(p.kind)), ink)
	mid, room := p.x+w/2, w
	if p.kind == stopped && !p.goesOn { // beside the sign
		mid, room = mid+u(signRoom/2), w-u(signRoom)
	}
	if width(name, 12) <= room {
		s.pen.text(mid, y+u(22), words{size: 12, anchor: "middle", bold: true, halo: true}, name)
	}
	if width(inFull, 12) <= room {
		length = inFull
	}
	if width(length, 12) <= room {
		s.pen.text(mid, y+u(37), words{size: 12, anchor: "middle", halo: true}, length)
	}
	s.end()
}

// labels are what a block is, how long it was, and that beside how long it was
// to be where the two differ.
func (p *piece) labels() (name, length, inFull string) {
	name, length = string(p.kind), lasts(p.of)
	if p.to-p.from < p.of {
		length += " in all"
	}
	if inFull = length; p.planned > 0 && lasts(p.planned) != lasts(p.of) {
		inFull += " of " + lasts(p.planned)
	}
	return name, length, inFull
}

// movement draws the line that rises in the lift and falls in the lower, and
// a shade under it. It ends where the piece does, even inside a phase.
func (s *sheet) movement(p *piece, y px) {
	var seen bool
	for _, c := range s.rec.phases {
		if c.At < p.from || c.At >= p.to {
			continue
		}
		if !seen {
			level := y + u(restsAt(c.Kind))
			s.line(p.x, level, p.x+wide(c.At-p.from, p.scale), level, moving, "1", ` stroke-dasharray="2 3"`)
			seen = true
		}
		s.phase(p, c, y)
	}
}

// restsAt is the height, from the band's top, at which a phase begins.
func restsAt(k coach.CueKind) int {
	if k == coach.CueLower || k == coach.CueTop {
		return highAt
	}
	return lowAt
}

// endsAt is the height at which a phase ends.
func endsAt(k coach.CueKind) int {
	if k == coach.CueLift || k == coach.CueTop {
		return highAt
	}
	return lowAt
}

// phase draws one phase: the lift thick, the rest thin.
func (s *sheet) phase(p *piece, c coach.Cue, y px) {
	end := min(c.At+c.Length, p.to)
	from, to := y+u(restsAt(c.Kind)), y+u(endsAt(c.Kind))
	if end < c.At+c.Length { // broken off
		to = along(from, to, end-c.At, c.Length)
	}
	x1, x2 := p.x+wide(c.At-p.from, p.scale), p.x+wide(end-p.from, p.scale)
	stroke := "1.6"
	if c.Kind == coach.CueLift {
		stroke = "3.4"
	}
	s.f(`<path d="M%s %sL%s %sV%sH%sZ" fill="%s"/>`, x1, from, x2, to, y+u(bandRoom)-5, x1, tint)
	s.line(x1, from, x2, to, moving, stroke, ` stroke-linecap="round"`)
	if end < c.At+c.Length {
		s.f(`<path d="M%s %sl8 8m0 -8l-8 8" stroke="%s" stroke-width="2" fill="none"/>`+"\n", x2-u(4), to-u(4), ink)
	}
}

// along is the point part of whole of the way from a to b.
func along(a, b px, part, whole coach.Samples) px {
	return a + px(int64(b-a)*int64(part)/int64(max(whole, 1)))
}

// sets writes above each set what was led, with a line as long as the set.
func (s *sheet) sets(r *row, y px) {
	free := u(left)
	for i := range s.rec.sets {
		d := &s.rec.sets[i]
		if !r.has(d.from) && (d.from >= r.from() || d.to <= r.from()) {
			continue
		}
		label := d.label()
		if d.from < r.from() {
			label = "continued: " + label
		}
		from, to := r.x(max(d.from, r.from())), r.x(min(d.to, r.to()))
		at := max(from+u(5), free)
		free = at + width(label, 12) + u(12)
		s.line(from, y-u(9), from, y+u(2), frame, "1", "")
		if free < to {
			s.line(free, y-u(4), to, y-u(4), frame, "1", "")
			s.line(to, y-u(9), to, y+u(2), frame, "1", "")
		}
		s.pen.text(at, y, words{size: 12, bold: true, halo: true}, label)
	}
}

// reps numbers the repetitions under the band: a ring for one confirmed by a
// tap, brackets for one broken off.
func (s *sheet) reps(r *row, y px) {
	for _, d := range s.rec.reps {
		if d.from < r.from() || d.from >= r.to() {
			continue
		}
		x := (r.x(d.from) + r.x(min(d.to, r.to()))) / 2
		n := fmt.Sprint(d.n)
		tells := "repetition " + n
		if alternates(d, s.rec.sets) {
			n += map[coach.Side]string{coach.Left: "L", coach.Right: "R"}[d.side]
			tells += ", " + string(d.side)
		}
		switch {
		case !d.led:
			n, tells = "("+n+")", tells+", broken off"
		case d.confirmed:
			tells += ", confirmed by a tap"
			s.f(`<rect x="%s" y="%s" width="26" height="13" rx="6.5" fill="none" stroke="%s" stroke-width="1.4"/>`, x-u(13), y-u(10), ink)
		}
		if d.last {
			tells += ", announced as the last one"
			s.pen.text(x+u(15), y, words{size: 11}, "last")
		}
		s.told(tells)
		s.pen.text(x, y, words{size: 11, anchor: "middle"}, n)
		s.end()
	}
}

// alternates reports whether a repetition's side is not that of its set.
func alternates(d repDone, sets []setDone) bool {
	for i := len(sets) - 1; i >= 0; i-- {
		if sets[i].from <= d.from {
			return d.side != coach.NoSide && d.side != sets[i].entry.Side
		}
	}
	return false
}
