package chart

import (
	"encoding/xml"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/journal"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
)

// threeSessions is a log that the station itself made.
func threeSessions(t *testing.T) *review.Log {
	var entries []coach.Entry
	for _, name := range []string{"three-sessions.jsonl", "stopped.jsonl"} {
		f, err := os.Open("../../../../testdata/dose/" + name)
		require.NoError(t, err)
		defer f.Close()
		got, faults := journal.Read(name, f)
		require.Empty(t, faults)
		entries = append(entries, got...)
	}
	return review.Read(entries, time.UTC).Of("K4")
}

func draw(t *testing.T, c Chart) string {
	html, err := c.Draw()
	require.NoError(t, err)
	d := xml.NewDecoder(strings.NewReader(string(html)))
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return string(html)
		}
		require.NoError(t, err, "%s", html)
	}
}

func TestEveryFigureDrawnStandsInTheTable(t *testing.T) {
	l := threeSessions(t)
	got := Of(l, protocol.Default(), "dumbbell-row", "Dumbbell row", "", coach.Kilogram)
	require.Len(t, got.Load.Marks, 4)
	assert.Len(t, got.Load.Rows, 4)
	assert.Equal(t, []string{"Day", "Load", "Could be lifted once", "How it went"}, got.Load.Head)
	for _, row := range got.Load.Rows[:3] {
		assert.Contains(t, row[2], " to ", "a whole set with an answer tells what could be lifted once")
	}
	assert.Len(t, got.Load.Bars, 3, "the session cut off by a stop tells nothing")
	assert.Equal(t, cross.at(0, 0).Kind, got.Load.Marks[3].Kind)
	assert.Equal(t, "2 March 2026", got.Reps.Rows[0][0])
	assert.Equal(t, got.Reps.Rows[0][1], got.Reps.Rows[0][2], "both sides are prescribed and led")
	for _, c := range []Chart{got.Load, got.Reps, got.Effort} {
		html := draw(t, c)
		assert.Contains(t, html, "<title id=")
		assert.Contains(t, html, "<desc id=")
		assert.NotContains(t, html, "style=")
		assert.Equal(t, len(c.Rows), strings.Count(html, `<th scope="row">`))
	}
}

func TestSinceLeavesOutWhatCameBefore(t *testing.T) {
	got := Of(threeSessions(t), protocol.Default(), "dumbbell-row", "Dumbbell row", "2026-03-05", coach.Kilogram)
	assert.Len(t, got.Reps.Rows, 3)
	none := Of(threeSessions(t), protocol.Default(), "dumbbell-row", "Dumbbell row", "2027-01-01", coach.Kilogram)
	assert.NotEmpty(t, none.Load.Note)
	assert.NotContains(t, draw(t, none.Load), "<svg")
}

func TestLoadsAreDrawnInTheClinicsUnit(t *testing.T) {
	points := []point{
		{Point: review.Point{Day: "2026-03-02", Dose: coach.Dose{Load: coach.Dumbbell(10000, coach.Pound), Reps: 10, Sets: 1}, Result: dose.Complete, Capacity: dose.Range{Low: 12, High: 14}, Known: true}},
		{Point: review.Point{Day: "2026-03-09", Dose: coach.Dose{Load: coach.Dumbbell(5000, coach.Kilogram), Reps: 10, Sets: 1}, Result: dose.Short}},
	}
	var c Chart
	c.loads(points, coach.Kilogram)
	// 10 lb are 4.536 kg, 12 to 14 lb 5.44 to 6.35 kg by the exact pound.
	assert.Equal(t, "5.4 to 6.4 kg", c.Rows[0][2])
	assert.Equal(t, "10 lb", c.Rows[0][1], "a load is written in its own unit")
	assert.Equal(t, "kg", c.Unit)
}

func TestBandsAndBodyWeight(t *testing.T) {
	band := func(n int, day coach.Day) point {
		return point{Point: review.Point{Day: day, Dose: coach.Dose{Load: coach.Band(n), Reps: 10, Sets: 1}, Result: dose.Complete}}
	}
	var c Chart
	c.loads([]point{band(1, "2026-03-02"), band(3, "2026-03-05")}, coach.Kilogram)
	assert.Equal(t, "band", c.Unit)
	assert.Equal(t, []string{"1", "2", "3"}, words(c.Y))
	var body Chart
	body.loads([]point{{Point: review.Point{Day: "2026-03-02"}}}, coach.Kilogram)
	assert.Contains(t, body.Note, "body alone")
}

func words(ticks []Tick) (out []string) {
	for _, t := range ticks {
		out = append(out, t.Text)
	}
	return out
}

func TestScalesKeepEverythingWithinTheFrame(t *testing.T) {
	for _, most := range []int64{0, 1, 199, 200, 1000, 2300, 14900, 99_000, 1_000_000} {
		v, ticks := upTo(most, 0)
		require.NotEmpty(t, ticks)
		assert.LessOrEqual(t, len(ticks), 11, "%d", most)
		assert.GreaterOrEqual(t, v.at(most), top, "%d", most)
		assert.Equal(t, bottom, v.at(0))
		for _, k := range ticks {
			assert.GreaterOrEqual(t, k.At, top)
		}
	}
	for _, last := range []coach.Day{"2026-03-02", "2026-03-03", "2028-03-02"} {
		d := daysFrom("2026-03-02", last)
		assert.GreaterOrEqual(t, d.at("2026-03-02"), left)
		assert.LessOrEqual(t, d.at(last), right)
		assert.LessOrEqual(t, len(d.ticks()), mostDaysWritten)
	}
}

func TestWhatPeopleTypedStaysText(t *testing.T) {
	const evil = `</title><script>alert(1)</script>"><svg onload=alert(2)>`
	got := Of(threeSessions(t), protocol.Default(), "dumbbell-row", evil, "", coach.Kilogram)
	html := draw(t, got.Load)
	assert.NotContains(t, html, "<script")
	assert.NotContains(t, html, "<svg onload")
}

func TestWeeksAndPace(t *testing.T) {
	l := threeSessions(t)
	weeks := l.Weeks("2026-03-02", "2026-03-15", 2)
	c := Weeks(weeks)
	require.Len(t, c.Bars, 2)
	assert.Contains(t, c.Desc, "100 % of the wanted sessions done in 2 weeks")
	draw(t, c)
	assert.NotEmpty(t, Weeks(nil).Note)
	assert.Contains(t, Pace(l, protocol.Default(), "").Note, "Nobody tapped along")
}
