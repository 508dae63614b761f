package picture

import "evenbell/coach"

// small draws beats, count-in, breathing and sentences.
func (s *sheet) small(r *row, y px) {
	for _, c := range s.rec.small {
		if !r.has(c.At) {
			continue
		}
		x := r.x(c.At)
		switch c.Kind {
		case coach.CueBeat:
			s.beat(x, s.height(c.At, y))
		case coach.CueCountIn:
			s.countIn(x, y+s.countsAt(c.At))
		case coach.CueBreath:
			s.breath(x, y+u(breathAt), s.words(c.Phrase))
		case coach.CueSay:
			s.told(s.words(c.Phrase))
			s.dash(x, y+u(bandRoom-4))
			s.end()
		case coach.CueDone:
			s.pen.text(x, y+u(28), words{size: 12, anchor: "end", bold: true, halo: true}, "done")
		}
	}
}

// words is what a phrase says; empty for the zero Phrase.
func (s *sheet) words(p coach.Phrase) string {
	if p.ID == "" {
		return ""
	}
	return s.text(p)
}

// height is where the movement line runs at a sample, for a band at y.
func (s *sheet) height(at coach.Samples, y px) px {
	for i := len(s.rec.phases) - 1; i >= 0; i-- {
		if c := s.rec.phases[i]; c.At <= at {
			return along(y+u(restsAt(c.Kind)), y+u(endsAt(c.Kind)), min(at-c.At, c.Length), c.Length)
		}
	}
	return y + u(lowAt)
}

// countsAt is the height at which the movement that follows begins.
func (s *sheet) countsAt(at coach.Samples) px {
	for _, c := range s.rec.phases {
		if c.At >= at {
			return u(restsAt(c.Kind))
		}
	}
	return u(lowAt)
}

func (s *sheet) beat(x, y px) { s.line(x, y-u(4), x, y+u(4), ink, "1.2", "") }

func (s *sheet) countIn(x, y px) {
	s.f(`<circle cx="%s" cy="%s" r="2.8" fill="%s"/>`+"\n", x, y, ink)
}

// breath is a small wave.
func (s *sheet) breath(x, y px, says string) {
	s.told(says)
	s.f(`<path d="M%s %sq3 -7 6 0t6 0t6 0" fill="none" stroke="%s" stroke-width="1.8"/>`, x, y, ink)
	s.end()
}

// dash marks a sentence.
func (s *sheet) dash(x, y px) {
	s.f(`<rect x="%s" y="%s" width="5" height="3" fill="%s"/>`, x, y, quiet)
}

// flags draws the labels of a row and their poles down to the band.
func (s *sheet) flags(r *row, band px) {
	for i := range r.flags {
		f := &r.flags[i]
		base := band - u(poleRoom+flagRoom*f.level)
		s.pole(f.kind, f.xs[0], base-u(8), band)
		for _, x := range f.xs[1:] { // from under the label they share
			s.pole(f.kind, x, base+u(3), band)
		}
		s.told(s.words(f.says))
		at := min(f.xs[0]+u(5), u(pageWidth-4)-f.wide)
		t := words{size: flagSize, halo: true}
		if f.button == coach.Stop {
			t.bold, t.ink = true, alert
		}
		s.pen.text(at, base, t, f.text())
		s.end()
	}
}

// pole draws what a flag stands on and its shape: an arrow for a press, a
// dashed pole with a diamond for a question, a square for a note.
func (s *sheet) pole(k flagKind, x, top, band px) {
	switch k {
	case pressFlag:
		s.line(x, top, x, band-u(5), ink, "1.4", "")
		s.f(`<path d="M%s %sl-4 -7h8z" fill="%s"/>`+"\n", x, band, ink)
	case askFlag:
		s.line(x, top, x, band-u(4), quiet, "1", ` stroke-dasharray="3 2"`)
		s.f(`<path d="M%s %sl5 5l-5 5l-5 -5z" fill="#ffffff" stroke="%s" stroke-width="1.4"/>`+"\n", x, band-u(4), ink)
	case noteFlag:
		s.line(x, top, x, band-u(3), quiet, "1", ` stroke-dasharray="1 2"`)
		s.f(`<rect x="%s" y="%s" width="7" height="7" fill="%s"/>`+"\n", x-35, band-u(3), ink)
	}
}

// signRoom is the room of the stop sign in a band.
const signRoom = 40

// stops draws a bar across the band and an eight-cornered sign on it.
func (s *sheet) stops(r *row, y px) {
	for _, at := range s.rec.stops {
		if r.has(at) {
			x := r.x(at)
			s.line(x, y-u(2), x, y+u(bandRoom)+u(2), alert, "4", "")
			s.stopSign(x+u(signRoom/2+1), y+u(bandRoom/2))
		}
	}
}

func (s *sheet) stopSign(x, y px) {
	s.f(`<path d="M%s %sl14 0l10 10l0 14l-10 10l-14 0l-10 -10l0 -14z" fill="%s" stroke="#ffffff" stroke-width="1.5"/>`+"\n", x-u(7), y-u(17), alert)
	s.pen.text(x, y+40, words{size: 11, anchor: "middle", ink: "#ffffff", bold: true}, "STOP")
}
