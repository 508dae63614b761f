package picture

import "evenbell/coach"

// ticks are the seconds between the ticks of a scale, and between those with
// a label.
func ticks(scale int) (small, labelled int) {
	switch scale {
	case fullScale:
		return 5, 10
	case halfScale:
		return 5, 20
	}
	return 10, 30
}

// stroke is how the axis is drawn at a scale: unbroken, dashed or dotted.
func stroke(scale int) string {
	switch scale {
	case fullScale:
		return ""
	case halfScale:
		return ` stroke-dasharray="7 3"`
	}
	return ` stroke-dasharray="2 3"`
}

// labelApart is the least distance between two labels of an axis.
const labelApart = 37

// axis draws a row's time: where it begins, then every few seconds of the
// session's own time, and where the session ends.
func (s *sheet) axis(r *row, y px) {
	y += u(3)
	if r.last { // the end is labelled first, the others make room for it
		s.time(max(r.right(), u(left+labelApart)), y, s.rec.end, true)
	}
	s.time(u(left), y, r.from(), true)
	free := u(left + labelApart)
	for i := range r.pieces {
		p := &r.pieces[i]
		s.line(p.x, y, p.x+p.wide(), y, ink, "1.3", stroke(p.scale))
		s.line(p.x, y-u(2), p.x, y+u(2), ink, "1.3", "")
		free = s.pieceTicks(r, p, y, free)
	}
}

func (s *sheet) pieceTicks(r *row, p *piece, y, free px) px {
	small, labelled := ticks(p.scale)
	step := coach.Samples(small) * coach.Samples(coach.SessionRate)
	for at := (p.from + step - 1) / step * step; at < p.to; at += step {
		x := r.x(at)
		n := int64(at / coach.Samples(coach.SessionRate))
		if n%int64(labelled) != 0 {
			s.line(x, y, x, y+u(2), ink, "0.8", "")
			continue
		}
		s.line(x, y, x, y+u(4), ink, "1.2", "")
		if x >= free && (!r.last || x <= r.right()-u(labelApart)) {
			s.time(x, y, at, false)
			free = x + u(labelApart)
		}
	}
	return free
}

func (s *sheet) time(x, y px, at coach.Samples, bold bool) {
	s.pen.text(x, y+u(15), words{size: 11, anchor: "middle", bold: bold}, clock(at))
}
