package chart

import (
	"fmt"
	"math"
	"strings"

	"evenbell/coach"
)

// loads draws the loads of the kind last used, and what could be lifted once.
func (c *Chart) loads(points []point, unit coach.Unit) {
	c.Head = []string{"Day", "Load", "Could be lifted once", "How it went"}
	kind := points[len(points)-1].Dose.Load.Kind()
	if kind == coach.BodyLoad {
		c.Note = "Done with the body alone: there is no load to draw."
		return
	}
	var most int64
	for _, p := range points {
		if p.Dose.Load.Kind() == kind {
			_, high := p.once(unit)
			most = max(most, milliOf(p.Dose.Load, unit), high)
		}
	}
	var v valueScale
	if kind == coach.BandLoad {
		c.Unit = "band"
		v = valueScale{0, most + 1000}
		c.Y = v.every(1000, 1000)[:most/1000]
	} else {
		c.Unit = string(unit)
		v, c.Y = upTo(most, 0)
	}
	c.drawLoads(points, kind, unit, v)
	c.Desc = loadsInWords(points, kind)
}

func (c *Chart) drawLoads(points []point, kind coach.LoadKind, unit coach.Unit, v valueScale) {
	d := scaleOf(points)
	c.X = d.ticks()
	var path []string
	ranges, seen := false, map[shape]bool{}
	for _, p := range points {
		shape, went := wentAs(p.Result)
		could := "not known"
		low, high := p.once(unit)
		if high > 0 {
			could = fmt.Sprintf("%s to %s %s", tenths(low), tenths(high), unit)
		}
		c.Rows = append(c.Rows, []string{long(p.Day), p.Dose.Load.String(), could, went})
		if p.Dose.Load.Kind() != kind {
			continue
		}
		x, y := d.at(p.Day), v.at(milliOf(p.Dose.Load, unit))
		if high > 0 {
			ranges = true
			c.Bars = append(c.Bars, Bar{x - 3, v.at(high), 6, max(v.at(low)-v.at(high), 1), "range"})
		}
		path = append(path, fmt.Sprintf("%d,%d", x, y))
		c.Marks = append(c.Marks, shape.at(x, y))
		seen[shape] = true
	}
	c.Lines = append(c.Lines, Line(strings.Join(path, " ")))
	for _, r := range results {
		if seen[r.shape] {
			c.explain(r.shape.at(10, 10), "load; "+r.words)
		}
	}
	if ranges {
		c.explain(rangeSign, "could be lifted once, as a range")
	}
}

func loadsInWords(points []point, kind coach.LoadKind) string {
	var of []point
	for _, p := range points {
		if p.Dose.Load.Kind() == kind {
			of = append(of, p)
		}
	}
	first, last := of[0], of[len(of)-1]
	s := fmt.Sprintf("%s from %s to %s, ", count(len(of), "time"), long(first.Day), long(last.Day))
	if first.Dose.Load == last.Dose.Load {
		return s + "at first and last with " + last.Dose.Load.String() + "."
	}
	return s + "from " + first.Dose.Load.String() + " to " + last.Dose.Load.String() + "."
}

// milliOf is a load in thousandths of a unit, or of a band's place.
func milliOf(l coach.Load, unit coach.Unit) int64 {
	switch {
	case l.Kind() == coach.BandLoad:
		return int64(l.Band()) * 1000
	case l.Unit() == unit:
		return l.Milli()
	}
	return int64(math.Round(l.Grams() / gramsIn(unit) * 1000))
}

func gramsIn(u coach.Unit) float64 {
	if u == coach.Pound {
		return coach.GramsPerPound
	}
	return 1000
}

// once is what could be lifted once, in thousandths of unit; zero where it is
// not known.
func (p point) once(unit coach.Unit) (low, high int64) {
	if !p.Known {
		return 0, 0
	}
	factor := gramsIn(p.Dose.Load.Unit()) / gramsIn(unit) * 1000
	return int64(math.Round(p.Capacity.Low * factor)), int64(math.Round(p.Capacity.High * factor))
}

// tenths writes thousandths to one decimal: no more is known of a capacity.
func tenths(milli int64) string { return coach.Decimal((milli + 50) / 100 * 100) }
