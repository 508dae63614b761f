package picture

import "fmt"

// pattern is the name of the pattern a kind of stretch is filled with.
func pattern(k kind) string {
	switch k {
	case warmUp:
		return "rising"
	case coolDown:
		return "falling"
	case rest:
		return "dots"
	case paused:
		return "hatch"
	case waiting:
		return "dashes"
	}
	return "bars"
}

// patterns defines the patterns. Each differs by shape.
func (s *sheet) patterns() {
	const soft, hard = "#a9bcc4", "#7d6f6c"
	for _, p := range []struct {
		name   string
		size   int
		stroke string
		path   string
	}{
		{"rising", 14, soft, "M-1 15L15 -1"},
		{"falling", 14, soft, "M-1 -1L15 15"},
		{"dots", 10, soft, "M4 5h2"},
		{"hatch", 8, hard, "M0 0L8 8M0 8L8 0"},
		{"dashes", 10, hard, "M0 3h6M5 8h5"},
		{"bars", 7, hard, "M3 0V7"},
	} {
		s.f(`<pattern id="eb-%s" width="%d" height="%d" patternUnits="userSpaceOnUse"><path d="%s" stroke="%s" stroke-width="1.5" fill="none"/></pattern>`+"\n",
			p.name, p.size, p.size, p.path, p.stroke)
	}
}

// The legend is a table of three columns.
const (
	legendColumns = 3
	legendLine    = 27
	legendWide    = (pageWidth - 2*left) / legendColumns
	legendSign    = 66 // room of the sign
)

// sign is one line of the legend.
type sign struct {
	draw func(x, y px) // x is its left edge, y its middle
	says string
}

func (s *sheet) signs() []sign {
	sample := func(k kind) func(x, y px) {
		return func(x, y px) {
			s.rect(x, y-u(8), u(56), u(16), fmt.Sprintf("url(#eb-%s)", pattern(k)), ink)
		}
	}
	pole := func(k flagKind) func(x, y px) {
		return func(x, y px) { s.pole(k, x+u(28), y-u(10), y+u(4)) }
	}
	scale := func(n int) func(x, y px) {
		return func(x, y px) {
			s.line(x, y, x+px(n*50), y, ink, "1.3", stroke(n))
			s.line(x, y-u(3), x, y+u(3), ink, "1.3", "")
			s.line(x+px(n*50), y-u(3), x+px(n*50), y+u(3), ink, "1.3", "")
		}
	}
	return []sign{
		{s.movementSign, "rises thick: lift · level: still · falls thin: lower"},
		{pole(askFlag), "question, with its answer"},
		{sample(warmUp), "warm-up, led by time"},
		{func(x, y px) { s.beat(x+u(28), y) }, "beat, each second of a movement"},
		{pole(pressFlag), "button pressed, and what it did"},
		{sample(rest), "rest"},
		{s.countInSign, "count-in before the first movement"},
		{pole(noteFlag), "something noted by the station"},
		{sample(coolDown), "cool-down, led by time"},
		{func(x, y px) { s.breath(x+u(20), y, "") }, "breathing cue"},
		{func(x, y px) { s.stopSign(x+u(28), y) }, "stop; nothing is paced after it"},
		{sample(paused), "paused"},
		{func(x, y px) { s.dash(x+u(26), y) }, "a sentence begins (point at it to read it)"},
		{s.repSign, "repetition: led · confirmed · broken off"},
		{sample(waiting), "nobody answers"},
		{scale(fullScale), "5 seconds of a set"},
		{scale(halfScale), "5 seconds of talk and questions: half"},
		{scale(quarterScale), "5 seconds of timers and waits: a quarter"},
	}
}

func (s *sheet) movementSign(x, y px) {
	s.line(x, y+u(7), x+u(18), y-u(7), moving, "3.4", ` stroke-linecap="round"`)
	s.line(x+u(18), y-u(7), x+u(30), y-u(7), moving, "1.6", "")
	s.line(x+u(30), y-u(7), x+u(56), y+u(7), moving, "1.6", ` stroke-linecap="round"`)
}

func (s *sheet) countInSign(x, y px) {
	for i := range 3 {
		s.countIn(x+u(20+8*i), y)
	}
}

func (s *sheet) repSign(x, y px) {
	t := words{size: 11, anchor: "middle"}
	s.pen.text(x+u(6), y+u(4), t, "4")
	s.f(`<rect x="%s" y="%s" width="18" height="13" rx="6.5" fill="none" stroke="%s" stroke-width="1.4"/>`, x+u(17), y-u(6), ink)
	s.pen.text(x+u(26), y+u(4), t, "5")
	s.pen.text(x+u(47), y+u(4), t, "(6)")
}

// legendHeight is the room the legend takes.
func (s *sheet) legendHeight() px {
	return u(legendLine*((len(s.signs())+legendColumns-1)/legendColumns) + 12)
}

// legend draws the legend with its top at y.
func (s *sheet) legend(y px) {
	s.rect(u(left-10), y-u(2), u(pageWidth-2*left+20), s.legendHeight()-u(6), "#f7f8f8", frame)
	for i, g := range s.signs() {
		x := u(left + i%legendColumns*legendWide)
		mid := y + u(14+legendLine*(i/legendColumns))
		g.draw(x, mid)
		s.pen.text(x+u(legendSign), mid+u(4), words{size: 12}, g.says)
	}
}
