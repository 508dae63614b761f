// Package chart draws how a patient is getting on: loads and what could be
// lifted once, repetitions, effort, attendance and pace, as SVG with the same
// figures in a table beneath.
//
// It is pure: a chart is made from a reviewed log, and knows no page, store or
// clock. Its colours are classes of the page's own style sheet.
//
// Invariants it keeps:
//   - What a mark means is told by its shape and by words, never by colour
//     alone.
//   - Every figure drawn also stands in the table.
//   - Positions are whole numbers: the same log gives the same bytes
//     everywhere.
//   - No style stands in the drawing, so the strictest page takes it.
package chart

import (
	_ "embed"
	"fmt"
	"html/template"
	"strings"

	"evenbell/coach"
)

// Chart is one drawing as numbers and words. Positions are whole numbers in
// the drawing's own units.
type Chart struct {
	ID    string // unique on the page
	Title string
	Desc  string // what there is to see, in a sentence or two
	Unit  string // of the upright axis
	Note  string // why there is nothing to draw; empty where there is

	X, Y   []Tick
	Limits []int // levels drawn across
	Bars   []Bar
	Lines  []Line
	Marks  []Mark
	Key    []Sign // what the shapes mean

	Head []string // of the table, with its rows
	Rows [][]string
}

// Tick is a place on an axis with its words.
type Tick struct {
	At   int
	Text string
}

// Bar is an upright bar. Kind is its class.
type Bar struct {
	X, Y, Width, Height int
	Kind                string
}

// Line joins points, which are written as SVG has them.
type Line string

// Mark is one shape at a place, its path written as SVG has it.
type Mark struct{ Path, Kind string }

// Sign says what a shape means.
type Sign struct {
	Mark
	Text string
}

// The drawing: small enough that its words stay readable on a telephone.
const (
	width, height   = 372, 190
	left, right     = 40, 350
	top, bottom     = 22, 164
	room            = 10 // at both ends, so that no mark lies on the frame
	mostDaysWritten = 4
)

//go:embed chart.html
var source string

var drawn = template.Must(template.New("chart").Parse(source))

// Draw is the chart as a figure for a page, with its table beneath.
func (c Chart) Draw() (template.HTML, error) {
	var b strings.Builder
	if err := drawn.Execute(&b, c); err != nil {
		return "", fmt.Errorf("drawing %s: %w", c.ID, err)
	}
	return template.HTML(b.String()), nil
}

// ViewBox is the drawing's extent.
func (c Chart) ViewBox() string { return fmt.Sprintf("0 0 %d %d", width, height) }

// Plot is the area within the axes.
func (c Chart) Plot() struct{ Left, Top, Right, Bottom int } {
	return struct{ Left, Top, Right, Bottom int }{left, top, right, bottom}
}

// shape is what a mark looks like.
type shape string

const (
	disc    shape = "disc"
	ring    shape = "ring"
	cross   shape = "cross"
	diamond shape = "diamond"
	dash    shape = "dash"
)

// at is the shape's mark about a place.
func (s shape) at(x, y int) Mark {
	switch s {
	case cross:
		return Mark{fmt.Sprintf("M%d %dl8 8m0 -8l-8 8", x-4, y-4), "stroke"}
	case diamond:
		return Mark{fmt.Sprintf("M%d %dl5 5l-5 5l-5 -5z", x, y-5), "full"}
	case dash:
		return Mark{fmt.Sprintf("M%d %dh12", x-6, y), "stroke"}
	case ring:
		return Mark{circle(x, y), "open"}
	}
	return Mark{circle(x, y), "full"}
}

func circle(x, y int) string { return fmt.Sprintf("M%d %da4 4 0 1 0 8 0a4 4 0 1 0 -8 0z", x-4, y) }

func (c *Chart) explain(m Mark, text string) { c.Key = append(c.Key, Sign{m, text}) }

// The signs of what is no mark, in a square of twenty.
var (
	rangeSign = Mark{"M7 2h6v16h-6z", "range"}
	barSign   = Mark{"M7 4h6v14h-6z", "bar"}
	limitSign = Mark{"M0 10h20", "limit"}
)

// dayScale puts the first day on the left and the last on the right.
type dayScale struct {
	first coach.Day
	span  int
}

func daysFrom(first, last coach.Day) dayScale { return dayScale{first, max(first.DaysUntil(last), 1)} }

func (d dayScale) at(day coach.Day) int {
	return left + room + (right-left-2*room)*d.first.DaysUntil(day)/d.span
}

// ticks are a few days, evenly spread.
func (d dayScale) ticks() []Tick {
	n := min(mostDaysWritten-1, d.span)
	var out []Tick
	for i := range n + 1 {
		day := d.first.AddDays(d.span * i / n)
		out = append(out, Tick{d.at(day), day.Time().Format("2 Jan")})
	}
	return out
}

// valueScale runs upwards, in thousandths.
type valueScale struct{ least, most int64 }

func (v valueScale) at(milli int64) int {
	milli = min(max(milli, v.least), v.most)
	return bottom - int(int64(bottom-top)*(milli-v.least)/max(v.most-v.least, 1))
}

// steps are distances between ticks that people read easily, in thousandths.
var steps = []int64{200, 500, 1000, 2000, 5000, 10000, 20000, 50000, 100000, 200000, 500000}

// upTo is a scale from zero to at least most, with its ticks.
func upTo(most int64, least int64) (valueScale, []Tick) {
	step := steps[len(steps)-1]
	for _, s := range steps {
		if s >= least && most <= 5*s {
			step = s
			break
		}
	}
	v := valueScale{0, max(step, (most+step-1)/step*step)}
	return v, v.every(0, step)
}

func (v valueScale) every(from, step int64) []Tick {
	var out []Tick
	for m := from; m <= v.most; m += step {
		out = append(out, Tick{v.at(m), coach.Decimal(m)})
	}
	return out
}
