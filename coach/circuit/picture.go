package circuit

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"slices"
	"strings"
)

// The measures of the picture, in whole pixels.
const (
	labelWide = 150
	rowHigh   = 26
	chartWide = 1000
	topHigh   = 46
)

// canvas draws a timetable. The shapes carry the meaning, the inks only help:
// work is a framed box, what is rested at the place hatched at its left, an
// area dotted, a walk a line.
type canvas struct {
	bytes.Buffer
	p    *Problem
	t    *Timetable
	when func(int) string
	lane [][]int // of each slot: its row among those of its place
	from []int   // of each place, its first row
	rows int     // of all places
}

// layOut gives an area as many rows as it has patients at once.
func (c *canvas) layOut() {
	c.lane, c.from = make([][]int, len(c.p.Patients)), make([]int, len(c.p.Places))
	for j, slots := range c.t.Slots {
		c.lane[j] = make([]int, len(slots))
	}
	for place := range c.p.Places {
		c.from[place] = c.rows
		free := []int{0}
		for _, at := range c.visitsAt(place) {
			s := c.t.Slots[at[0]][at[1]]
			row := slices.IndexFunc(free, func(f int) bool { return f <= s.Arrive })
			if row < 0 {
				row, free = len(free), append(free, 0)
			}
			free[row], c.lane[at[0]][at[1]] = s.End, row
		}
		c.rows += len(free)
	}
}

// visitsAt are the patient and visit of every slot at a place, by time.
func (c *canvas) visitsAt(place int) (out [][2]int) {
	for j, slots := range c.t.Slots {
		for n, s := range slots {
			if s.Place == place {
				out = append(out, [2]int{j, n})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b [2]int) int { return c.t.Slots[a[0]][a[1]].Arrive - c.t.Slots[b[0]][b[1]].Arrive })
	return out
}

// Picture draws the timetable as SVG, once by place and once by patient, with
// rests and walks; when writes a time of day, and now is where the now-line
// stands, none where it is negative. Whole numbers only: the same timetable is
// the same bytes everywhere.
func Picture(p *Problem, t *Timetable, when func(seconds int) string, now int) []byte {
	c := &canvas{p: p, t: t, when: when}
	c.layOut()
	rows := c.rows + len(p.Patients)
	high := 2*topHigh + rows*rowHigh + 40
	fmt.Fprintf(c, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" font-family="sans-serif" font-size="12" fill="#17242c" role="img">`+"\n", labelWide+chartWide+20, high)
	fmt.Fprintf(c, "<title>Class timetable, %s to %s</title>\n<desc>Who is at which place when: %d patients, %d places.</desc>\n", escape(when(0)), escape(when(t.Span)), len(p.Patients), len(p.Places))
	c.WriteString(`<defs><pattern id="rest" width="5" height="5" patternUnits="userSpaceOnUse"><path d="M0 5L5 0" stroke="#44525b"/></pattern></defs>` + "\n" +
		`<rect width="100%" height="100%" fill="#ffffff"/>` + "\n")
	bottom := c.part(0, "By place", c.placeNames(), func(j, n, place int) (int, string) {
		return c.from[place] + c.lane[j][n], p.Patients[j].Tag
	})
	bottom = c.part(bottom, "By patient", c.tags(), func(j, _, place int) (int, string) { return j, p.Places[place].Name })
	if now >= 0 && now <= t.Span {
		fmt.Fprintf(c, `<line x1="%[1]d" y1="20" x2="%[1]d" y2="%[2]d" stroke="#8a1c14" stroke-width="2"><title>now, %[3]s</title></line>`+"\n", c.x(now), bottom, escape(when(now)))
	}
	c.WriteString("</svg>\n")
	return c.Bytes()
}

func (c *canvas) x(s int) int { return labelWide + s*chartWide/max(1, c.t.Span) }

func (c *canvas) placeNames() (out []string) {
	out = make([]string, c.rows)
	for i, p := range c.p.Places {
		out[c.from[i]] = p.Name
	}
	return out
}

func (c *canvas) tags() (out []string) {
	for _, p := range c.p.Patients {
		out = append(out, p.Tag)
	}
	return out
}

// part draws one half from y down and returns where it ends; row gives the row
// and the label of a patient's slot at a place.
func (c *canvas) part(y int, title string, names []string, row func(j, n, place int) (int, string)) int {
	fmt.Fprintf(c, `<text x="8" y="%d" font-weight="bold">%s</text>`+"\n", y+18, title)
	end := y + topHigh + len(names)*rowHigh
	c.hours(y+36, end)
	for i, name := range names {
		fmt.Fprintf(c, `<text x="8" y="%d">%s</text>`+"\n", y+topHigh+i*rowHigh+17, escape(short(name, 22)))
	}
	byPatient := title == "By patient"
	for j, slots := range c.t.Slots {
		for n, s := range slots {
			if s.Place == Nowhere {
				continue
			}
			i, label := row(j, n, s.Place)
			c.box(y+topHigh+i*rowHigh, j, n, s, label)
		}
		if byPatient {
			c.walks(y+topHigh+j*rowHigh, slots)
		}
	}
	return end
}

// hours draws the lines of time: every five minutes, or every fifteen in a
// long class.
func (c *canvas) hours(top, bottom int) {
	every := 300
	if c.t.Span > 5400 {
		every = 900
	}
	for s := 0; s <= c.t.Span; s += every {
		fmt.Fprintf(c, `<line x1="%[1]d" y1="%[2]d" x2="%[1]d" y2="%[3]d" stroke="#d9eaf0"/><text x="%[1]d" y="%[2]d" text-anchor="middle" font-size="10">%[4]s</text>`+"\n",
			c.x(s), top, bottom, escape(strings.TrimSuffix(c.when(s), ":00")))
	}
}

func (c *canvas) box(y, j, n int, s Slot, label string) {
	v := &c.p.Patients[j].Visits[n]
	dash := ""
	if v.Kind != Work {
		dash = ` stroke-dasharray="3 2"`
	}
	fmt.Fprintf(c, `<g><title>%s: %s at %s, %s to %s</title>`, escape(c.p.Patients[j].Tag), escape(v.Name), escape(c.p.Places[s.Place].Name), escape(c.when(s.Arrive)), escape(c.when(s.End)))
	wide := max(1, c.x(s.End)-c.x(s.Arrive))
	fmt.Fprintf(c, `<rect x="%d" y="%d" width="%d" height="%d" fill="#d9eaf0" stroke="#0b566e"%s/>`, c.x(s.Arrive), y+3, wide, rowHigh-6, dash)
	if lead := c.x(s.Start) - c.x(s.Arrive); lead > 0 {
		fmt.Fprintf(c, `<rect x="%d" y="%d" width="%d" height="%d" fill="url(#rest)"/>`, c.x(s.Arrive), y+3, lead, rowHigh-6)
	}
	if text := short(label, wide/7); text != "" {
		fmt.Fprintf(c, `<text x="%d" y="%d" text-anchor="middle" font-size="11">%s</text>`, c.x(s.Arrive)+wide/2, y+17, escape(text))
	}
	c.WriteString("</g>\n")
}

// walks draws each walk as a line from the end of a visit.
func (c *canvas) walks(y int, slots []Slot) {
	for _, s := range slots {
		if s.Place == Nowhere {
			continue
		}
		next := -1
		for n, o := range slots {
			if o.Place != Nowhere && o.Arrive >= s.End && (next < 0 || o.Arrive < slots[next].Arrive) {
				next = n
			}
		}
		if next < 0 {
			continue
		}
		if walk := c.p.Walk[s.Place][slots[next].Place]; walk > 0 {
			fmt.Fprintf(c, `<line x1="%[1]d" y1="%[3]d" x2="%[2]d" y2="%[3]d" stroke="#44525b" stroke-width="2"><title>walk, %[4]d s</title></line>`+"\n",
				c.x(slots[next].Arrive-walk), c.x(slots[next].Arrive), y+rowHigh/2, walk)
		}
	}
}

// short cuts a text to so many letters; empty where none fits.
func short(s string, most int) string {
	r := []rune(s)
	switch {
	case len(r) <= most:
		return s
	case most < 2:
		return ""
	}
	return string(r[:most-1]) + "…"
}

func escape(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a strings.Builder never fails
	return b.String()
}
