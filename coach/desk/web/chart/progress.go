package chart

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
)

// Progress are the charts of one exercise.
type Progress struct {
	Exercise, Name     string
	Load, Reps, Effort Chart
}

// Of draws how one exercise of a person's log went since a day, with masses in
// the clinic's unit.
func Of(l *review.Log, p *protocol.Protocol, id, name string, since coach.Day, unit coach.Unit) Progress {
	points := pointsOf(l, p, id, since)
	out := Progress{Exercise: id, Name: name}
	for _, c := range []struct {
		of   *Chart
		key  string
		what string
		draw func(*Chart, []point, coach.Unit)
	}{
		{&out.Load, "load", "load", (*Chart).loads},
		{&out.Reps, "reps", "repetitions", (*Chart).reps},
		{&out.Effort, "effort", "repetitions left at the end", (*Chart).effort},
	} {
		*c.of = Chart{ID: "chart-" + c.key + "-" + id, Title: name + ": " + c.what}
		if len(points) == 0 {
			c.of.Note = "No session with a trusted time to draw from."
			continue
		}
		c.draw(c.of, points, unit)
	}
	return out
}

// point is what one exercise came to in one session, with the repetitions
// prescribed over all sets and sides.
type point struct {
	review.Point
	Wanted int
}

// pointsOf are the points of one exercise in order of time.
func pointsOf(l *review.Log, p *protocol.Protocol, exercise string, since coach.Day) []point {
	passes := map[string]int{}
	for _, s := range l.Sessions {
		for _, it := range s.Items {
			if it.Exercise == exercise {
				passes[s.ID] = len(it.Sides.Passes())
			}
		}
	}
	var out []point
	for _, pt := range l.Trend(p, exercise) {
		if pt.Day >= since {
			out = append(out, point{pt, pt.Dose.Reps * pt.Dose.Sets * passes[pt.Session]})
		}
	}
	return out
}

func scaleOf(points []point) dayScale { return daysFrom(points[0].Day, points[len(points)-1].Day) }

// results are how an exercise went, with their shapes.
var results = []struct {
	result dose.Result
	shape  shape
	words  string
}{
	{dose.Complete, disc, "every set to its end"},
	{dose.Short, ring, "a set ended early"},
	{dose.Cut, cross, "cut off, counts neither way"},
}

func wentAs(r dose.Result) (shape, string) {
	for _, v := range results {
		if v.result == r {
			return v.shape, v.words
		}
	}
	return cross, string(r)
}

// reps draws the repetitions led against those prescribed.
func (c *Chart) reps(points []point, _ coach.Unit) {
	c.Unit, c.Head = "repetitions", []string{"Day", "Led", "Prescribed", "How it went"}
	most, led, wanted := 0, 0, 0
	for _, p := range points {
		most = max(most, p.Led, p.Wanted)
		led, wanted = led+p.Led, wanted+p.Wanted
	}
	var v valueScale
	v, c.Y = upTo(int64(most)*1000, 1000)
	d := scaleOf(points)
	c.X = d.ticks()
	for _, p := range points {
		x, y := d.at(p.Day), v.at(int64(p.Led)*1000)
		c.Bars = append(c.Bars, Bar{x - 3, y, 6, bottom - y, "bar"})
		c.Marks = append(c.Marks, dash.at(x, v.at(int64(p.Wanted)*1000)))
		_, went := wentAs(p.Result)
		c.Rows = append(c.Rows, []string{long(p.Day), strconv.Itoa(p.Led), strconv.Itoa(p.Wanted), went})
	}
	c.explain(barSign, "led")
	c.explain(dash.at(10, 10), "prescribed")
	c.Desc = fmt.Sprintf("%d of %d prescribed repetitions led in %s.", led, wanted, count(len(points), "session"))
}

// efforts are the answers to the effort question, the hardest first, with
// their shapes.
var efforts = []struct {
	reserve      coach.Reserve
	short, words string
	shape        shape
}{
	{"", "none", "no answer", cross},
	{coach.ReserveNone, "0–1", "none or one left", diamond},
	{coach.ReserveFew, "2–4", "two to four left", disc},
	{coach.ReserveMany, "5+", "five or more left", ring},
}

// effort draws the lowest reserve named in each session.
func (c *Chart) effort(points []point, _ coach.Unit) {
	c.Unit, c.Head = "left", []string{"Day", "Repetitions left"}
	v := valueScale{-500, 3500}
	d := scaleOf(points)
	c.X = d.ticks()
	times := make([]int, len(efforts))
	for _, p := range points {
		for i, e := range efforts {
			if e.reserve == p.Reserve {
				c.Marks = append(c.Marks, e.shape.at(d.at(p.Day), v.at(int64(i)*1000)))
				c.Rows = append(c.Rows, []string{long(p.Day), e.words})
				times[i]++
			}
		}
	}
	var said []string
	for i, e := range efforts {
		c.Y = append(c.Y, Tick{v.at(int64(i) * 1000), e.short})
		if times[i] > 0 {
			c.explain(e.shape.at(10, 10), e.words)
			said = append(said, e.words+" "+count(times[i], "time"))
		}
	}
	c.Desc = sentence(said)
}

// Weeks draws attendance by week against what is wanted.
func Weeks(weeks []review.Week) Chart {
	c := Chart{ID: "chart-weeks", Title: "Days exercised, by week", Unit: "days", Head: []string{"Week from", "Days", "Wanted"}}
	if len(weeks) == 0 {
		c.Note = "No week to show yet."
		return c
	}
	most := 0
	for _, w := range weeks {
		most = max(most, w.Days, w.Wanted)
	}
	var v valueScale
	v, c.Y = upTo(int64(most)*1000, 1000)
	d := daysFrom(weeks[0].Monday, weeks[len(weeks)-1].Monday)
	c.X = d.ticks()
	wide := min(14, max(3, (right-left)/len(weeks)*2/3))
	for _, w := range weeks {
		x, y := d.at(w.Monday), v.at(int64(w.Days)*1000)
		c.Bars = append(c.Bars, Bar{x - wide/2, y, wide, bottom - y, "bar"})
		c.Rows = append(c.Rows, []string{long(w.Monday), strconv.Itoa(w.Days), strconv.Itoa(w.Wanted)})
	}
	c.explain(barSign, "days on which something was done")
	if wanted := weeks[len(weeks)-1].Wanted; wanted > 0 {
		c.Limits = append(c.Limits, v.at(int64(wanted)*1000))
		c.explain(limitSign, "wanted a week")
		c.Desc = fmt.Sprintf("%d %% of the wanted sessions done in %s.", percent(review.Share(weeks)), count(len(weeks), "week"))
	}
	return c
}

// Pace draws the share of repetitions that kept the pace, visit by visit, where
// taps tell.
func Pace(l *review.Log, p *protocol.Protocol, since coach.Day) Chart {
	c := Chart{ID: "chart-pace", Title: "Pace kept", Unit: "% of repetitions", Head: []string{"Day", "Pace kept"}}
	var told []review.Visit
	visits := 0
	for _, v := range l.Visits() {
		if v.Day() == "" || v.Day() < since {
			continue
		}
		visits++
		if _, ok := v.Pace(p); ok {
			told = append(told, v)
		}
	}
	if len(told) == 0 {
		c.Note = "Nobody tapped along, so nothing tells how well the pace was kept. Taps are not asked for."
		return c
	}
	scale := valueScale{0, 100_000}
	c.Y = scale.every(0, 25_000)
	d := daysFrom(told[0].Day(), told[len(told)-1].Day())
	c.X = d.ticks()
	var path []string
	for _, v := range told {
		part, _ := v.Pace(p)
		x, y := d.at(v.Day()), scale.at(int64(percent(part))*1000)
		path = append(path, fmt.Sprintf("%d,%d", x, y))
		c.Marks = append(c.Marks, disc.at(x, y))
		c.Rows = append(c.Rows, []string{long(v.Day()), strconv.Itoa(percent(part)) + " %"})
	}
	c.Lines = append(c.Lines, Line(strings.Join(path, " ")))
	least := p.Limit(protocol.PaceKeptLeast)
	c.Limits = append(c.Limits, scale.at(int64(math.Round(least.Value*1000))))
	c.explain(disc.at(10, 10), "a session with taps")
	c.explain(limitSign, "below it, worth a look: "+p.Allowed(protocol.PaceKeptLeast))
	c.Desc = fmt.Sprintf("Taps told of the pace in %d of %s.", len(told), count(visits, "session"))
	return c
}

func percent(share float64) int { return int(math.Round(100 * share)) }

// count is a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// sentence joins parts into a sentence.
func sentence(parts []string) string {
	s := strings.Join(parts, ", ")
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

// long is a day as it stands in a table.
func long(d coach.Day) string { return d.Time().Format("2 January 2006") }
