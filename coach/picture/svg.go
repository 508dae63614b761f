package picture

import (
	"bufio"
	"encoding/xml"
	"fmt"
	"strings"
)

// px is a length in tenths of a pixel: fine enough to draw with, and whole.
type px int64

// u is n whole pixels.
func u(n int) px { return px(n) * 10 }

// String writes p as an SVG number with at most one decimal.
func (p px) String() string {
	sign := ""
	if p < 0 {
		sign, p = "-", -p
	}
	if p%10 == 0 {
		return fmt.Sprintf("%s%d", sign, p/10)
	}
	return fmt.Sprintf("%s%d.%d", sign, p/10, p%10)
}

// The inks. Text is drawn in ink, quiet or alert, all beyond 4.5:1 on white and on
// the tints; shapes carry the meaning, the inks only help.
const (
	ink    = "#17242c"
	quiet  = "#44525b"
	moving = "#0b566e"
	alert  = "#8a1c14"
	tint   = "#d9eaf0"
	frame  = "#8b989f"
)

// pen writes SVG. Errors stay in the buffered writer until it is flushed.
type pen struct{ w *bufio.Writer }

// f writes markup; strings in args must be escaped already.
func (p pen) f(format string, args ...any) { fmt.Fprintf(p.w, format, args...) }

// words are how a text looks.
type words struct {
	size   int
	anchor string // start, middle or end; empty for start
	ink    string // empty for ink
	bold   bool
	halo   bool // a white rim, to stay readable over lines and patterns
}

// text writes s with its baseline at y.
func (p pen) text(x, y px, t words, s string) {
	fill := t.ink
	if fill == "" {
		fill = ink
	}
	p.f(`<text x="%s" y="%s" font-size="%d" fill="%s"`, x, y, t.size, fill)
	if t.anchor != "" && t.anchor != "start" {
		p.f(` text-anchor="%s"`, t.anchor)
	}
	if t.bold {
		p.f(` font-weight="bold"`)
	}
	if t.halo {
		p.f(` stroke="#ffffff" stroke-width="3.5" stroke-linejoin="round" paint-order="stroke"`)
	}
	p.f(">%s</text>\n", escape(s))
}

// line writes a straight line.
func (p pen) line(x1, y1, x2, y2 px, stroke, width, more string) {
	p.f(`<line x1="%s" y1="%s" x2="%s" y2="%s" stroke="%s" stroke-width="%s"%s/>`+"\n", x1, y1, x2, y2, stroke, width, more)
}

// rect writes a rectangle.
func (p pen) rect(x, y, w, h px, fill, stroke string) {
	p.f(`<rect x="%s" y="%s" width="%s" height="%s" fill="%s" stroke="%s"/>`+"\n", x, y, w, h, fill, stroke)
}

// told opens a group that tells s when pointed at; end closes it.
func (p pen) told(s string) {
	p.f("<g>")
	if s != "" {
		p.f("<title>%s</title>", escape(s))
	}
}

func (p pen) end() { p.f("</g>\n") }

// escape makes s safe as text and as an attribute; what XML cannot carry
// becomes the replacement character.
func escape(s string) string {
	var b strings.Builder
	// A strings.Builder never fails.
	_ = xml.EscapeText(&b, []byte(s))
	return b.String()
}

// width is about how wide s is at a font size, on the generous side: the
// reader's fonts are not known.
func width(s string, size int) px {
	var thousandths int
	for _, r := range s {
		switch {
		case strings.ContainsRune("ijl.,:;'|!()", r):
			thousandths += 370
		case strings.ContainsRune("mwMW—…", r):
			thousandths += 950
		case r == ' ' || r == 't' || r == 'f' || r == 'r' || r == '·':
			thousandths += 400
		default:
			thousandths += 620
		}
	}
	return px(thousandths * size / 100)
}

// wrap divides s into lines no wider than room, between words.
func wrap(s string, size int, room px) []string {
	var lines []string
	for _, w := range strings.Fields(s) {
		n := len(lines) - 1
		if n >= 0 && width(lines[n]+" "+w, size) <= room {
			lines[n] += " " + w
		} else {
			lines = append(lines, w)
		}
	}
	return lines
}
