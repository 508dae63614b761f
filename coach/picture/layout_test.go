package picture

import (
	"io"
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

// long is a programme whose sets are longer than a row.
func long() *coach.Programme {
	p := programme(coach.Whole)
	p.Items[1].Dose.Reps = 40
	return p
}

// Every sample of the session is drawn once, in order, inside the page.
func TestRowsCoverTheSession(t *testing.T) {
	for _, st := range stories {
		for _, prog := range []*coach.Programme{programme(st.part), long()} {
			prog.Part = st.part
			out := play(t, prog, st)
			rec := read(prog, out.Cues, out.Entries)
			var at coach.Samples
			for _, r := range rows(&rec) {
				x := u(left)
				for _, p := range r.pieces {
					require.Equal(t, at, p.from, st.name)
					require.Less(t, p.from, p.to, st.name)
					require.Equal(t, x, p.x, st.name)
					require.Equal(t, r.chapter, p.chapter, st.name)
					at, x = p.to, x+p.wide()
				}
				require.LessOrEqual(t, x, u(left+plot+overhang)+1, st.name)
			}
			assert.Equal(t, rec.end, at, st.name)
		}
	}
}

func TestSetsAreDividedOnlyWhereTheyMustBe(t *testing.T) {
	prog := long()
	out := play(t, prog, stories[0])
	rec := read(prog, out.Cues, out.Entries)
	starts := map[coach.Samples]bool{}
	for _, r := range rec.reps {
		starts[r.from] = true
	}
	divided := 0
	for _, r := range rows(&rec) {
		for _, p := range r.pieces {
			if p.kind != set || p.to-p.from == p.of {
				continue
			}
			divided++
			assert.Greater(t, wide(p.of, p.scale), u(plot))
			if p.goesOn {
				assert.True(t, starts[p.from], "divided inside a repetition")
			}
		}
	}
	assert.Positive(t, divided)
}

// No label lies over another and no pole crosses a label.
func TestLabelsKeepApart(t *testing.T) {
	for _, st := range stories {
		out := play(t, programme(st.part), st)
		rec := read(programme(st.part), out.Cues, out.Entries)
		for _, r := range rows(&rec) {
			for i, a := range r.flags {
				assert.Less(t, a.level, r.levels)
				for _, b := range r.flags[i+1:] {
					if b.xs[0] < a.xs[0]+a.wide {
						assert.Greater(t, a.level, b.level, "%s: %q and %q", st.name, a.text(), b.text())
					}
				}
			}
		}
	}
}

// A pause holds a rest and gives it back: 20 s, a pause of 15 s, the rest.
func TestPausedRest(t *testing.T) {
	sec := func(n int) coach.Samples { return coach.Samples(n) * coach.Samples(coach.SessionRate) }
	e := func(at int, k coach.EntryKind) coach.Entry { return coach.Entry{Sample: sec(at), Kind: k} }
	rec := read(programme(coach.Whole),
		[]coach.Cue{{At: sec(10), Kind: coach.CueRest, Length: sec(60)}, {At: sec(85), Kind: coach.CueRestEnd}, {At: sec(90), Kind: coach.CueDone}},
		[]coach.Entry{e(30, coach.EntryPause), e(45, coach.EntryResume)})
	want := []struct {
		kind     kind
		from, to int
	}{{talk, 0, 10}, {rest, 10, 30}, {paused, 30, 45}, {rest, 45, 85}, {talk, 85, 90}}
	require.Len(t, rec.stretches, len(want))
	for i, w := range want {
		s := rec.stretches[i]
		assert.Equal(t, []any{w.kind, sec(w.from), sec(w.to)}, []any{s.kind, s.from, s.to})
	}
}

// The line stands where arithmetic puts it: half a lift is half-way up.
func TestMovementLine(t *testing.T) {
	assert.Equal(t, u(30), along(u(40), u(20), 1, 2))
	assert.Equal(t, u(40), along(u(40), u(20), 0, 2))
	assert.Equal(t, u(20), along(u(40), u(20), 2, 2))
	rec := read(programme(coach.Whole), []coach.Cue{
		{At: 0, Kind: coach.CueLift, Rep: 1, Length: 96000}, {At: 48000, Kind: coach.CueBeat, Rep: 1}}, nil)
	s := &sheet{rec: &rec}
	assert.Equal(t, u(highAt+lowAt)/2, s.height(48000, 0))
}

func TestWords(t *testing.T) {
	assert.Equal(t, "12:34", clock(coach.SessionRate.At(754*time.Second+900*time.Millisecond)))
	assert.Equal(t, "1:00", lasts(coach.SessionRate.At(59600*time.Millisecond)))
	assert.Equal(t, "-0.5", px(-5).String())
	assert.Equal(t, "12.3", px(123).String())
	assert.Equal(t, "12", px(120).String())
	assert.Equal(t, []string{"one two", "three"}, wrap("one two three", 10, width("one two", 10)))
}

// Text is readable: at least 4.5:1 on every ground (WCAG 2.2, 1.4.3).
func TestContrast(t *testing.T) {
	for _, text := range []string{ink, quiet, alert} {
		for _, ground := range []string{"#ffffff", tint, "#f6fafb", "#f7f8f8"} {
			assert.GreaterOrEqual(t, contrast(t, text, ground), 4.5, "%s on %s", text, ground)
		}
	}
	assert.GreaterOrEqual(t, contrast(t, "#ffffff", alert), 4.5, "the stop sign")
	assert.GreaterOrEqual(t, contrast(t, moving, tint), 3.0, "the movement line (WCAG 2.2, 1.4.11)")
}

// contrast is WCAG's contrast ratio.
func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

func luminance(t *testing.T, colour string) float64 {
	n, err := strconv.ParseUint(colour[1:], 16, 32)
	require.NoError(t, err)
	part := func(shift uint) float64 {
		v := float64(n>>shift&255) / 255
		if v <= 0.04045 {
			return v / 12.92
		}
		return math.Pow((v+0.055)/1.055, 2.4)
	}
	return 0.2126*part(16) + 0.7152*part(8) + 0.0722*part(0)
}

func BenchmarkDraw(b *testing.B) {
	prog := programme(coach.Whole)
	out := play(b, prog, stories[0])
	for b.Loop() {
		if err := Draw(io.Discard, prog, out.Cues, out.Entries, says); err != nil {
			b.Fatal(err)
		}
	}
}
