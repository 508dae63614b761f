package picture

import "evenbell/coach"

// The page, in whole pixels.
const (
	pageWidth = 1120
	left      = 28
	plot      = 1010 // between the ends of a row
	headRoom  = 21   // of a chapter's title
	flagRoom  = 14   // of one level of labels
	poleRoom  = 9    // from the lowest labels down to the band
	setRoom   = 15   // of what is said of a set
	bandRoom  = 50
	repRoom   = 14
	axisRoom  = 21
	rowGap    = 11
	overhang  = 60  // past the end of a row, for a stretch that ends there
	sliver    = 60  // no stretch begins in less room than this at a row's end
	small     = 240 // no shorter stretch is divided
)

// piece is a stretch, or a part of one, in a row.
type piece struct {
	stretch
	of     coach.Samples // the length of the whole stretch
	goesOn bool          // from the row above
	x      px            // where it begins
}

func (p *piece) wide() px { return wide(p.to-p.from, p.scale) }

// row is one line of the picture.
type row struct {
	chapter int
	first   bool // of its chapter
	last    bool // of the picture
	pieces  []piece
	flags   []raised
	levels  int // of flags
	lead    bool
}

func (r *row) from() coach.Samples { return r.pieces[0].from }
func (r *row) to() coach.Samples   { return r.pieces[len(r.pieces)-1].to }

// right is where the row ends.
func (r *row) right() px {
	p := &r.pieces[len(r.pieces)-1]
	return p.x + p.wide()
}

// has reports whether something at a sample is drawn in the row.
func (r *row) has(at coach.Samples) bool {
	return at >= r.from() && (at < r.to() || r.last && at == r.to())
}

// x is where a sample of the row is drawn.
func (r *row) x(at coach.Samples) px {
	for i := range r.pieces {
		p := &r.pieces[i]
		if at < p.to || i+1 == len(r.pieces) {
			return p.x + wide(min(at, p.to)-p.from, p.scale)
		}
	}
	return r.right()
}

// height is the height of the row with all its labels.
func (r *row) height() px {
	h := u(headRoom + flagRoom*r.levels + poleRoom + bandRoom + axisRoom + rowGap)
	if r.lead {
		h += u(setRoom + repRoom)
	}
	return h
}

// rows lays the session out: a chapter begins a row, a set that fits into a
// row is not divided, a longer one is divided between repetitions.
func rows(rec *record) []row {
	var l layout
	for _, s := range rec.stretches {
		l.place(s, rec.reps)
	}
	out := l.rows
	for i := range out {
		r := &out[i]
		r.last = i+1 == len(out)
		r.first = i == 0 || out[i-1].chapter != r.chapter
		var fs []flag
		for _, f := range rec.flags {
			if r.has(f.at) {
				fs = append(fs, f)
			}
		}
		r.flags = gather(fs, r.x)
		r.levels = raise(r.flags)
		for _, p := range r.pieces {
			r.lead = r.lead || p.kind == set
		}
	}
	return out
}

// layout fills rows from left to right.
type layout struct {
	rows []row
	x    px // where the next piece begins in the last row
	full bool
}

// place puts a stretch into rows, divided where it must be.
func (l *layout) place(s stretch, reps []repDone) {
	end := u(left + plot)
	length := s.to - s.from
	for s.from < s.to {
		if len(l.rows) == 0 || l.full || l.rows[len(l.rows)-1].chapter != s.chapter {
			l.open(s)
		}
		need, room := wide(s.to-s.from, s.scale), end-l.x
		part := s
		if need > room+u(overhang) {
			l.full = true
			if l.x > u(left) && (room < u(sliver) || need <= u(small) || s.kind == set && need <= u(plot)) {
				continue
			}
			part.to = cutAt(s, s.from+fits(room, s.scale), reps)
		}
		last := &l.rows[len(l.rows)-1]
		last.pieces = append(last.pieces, piece{stretch: part, of: length, goesOn: s.to-s.from < length, x: l.x})
		l.x += wide(part.to-part.from, part.scale)
		s.from = part.to
	}
}

// open begins a row for a stretch. A set takes the talk that leads to it
// along, where there is something else before that in its row.
func (l *layout) open(s stretch) {
	next := row{chapter: s.chapter}
	l.x = u(left)
	if l.full && s.kind == set {
		above := &l.rows[len(l.rows)-1]
		n := len(above.pieces) - 1
		if p := above.pieces[n]; n > 0 && above.chapter == s.chapter && p.kind == talk && p.to-p.from == p.of &&
			p.wide()+wide(s.to-s.from, s.scale) <= u(plot) {
			above.pieces = above.pieces[:n]
			p.x = l.x
			next.pieces = []piece{p}
			l.x += p.wide()
		}
	}
	l.rows, l.full = append(l.rows, next), false
}

// cutAt is where to divide a stretch that has room up to a sample: a set
// before the repetition that would not fit, anything else right there.
func cutAt(s stretch, at coach.Samples, reps []repDone) coach.Samples {
	if s.kind != set {
		return at
	}
	for i := len(reps) - 1; i >= 0; i-- {
		if f := reps[i].from; f <= at && f > s.from {
			return f
		}
	}
	return at
}
