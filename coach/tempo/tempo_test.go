package tempo_test

import (
	"math/big"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/tempo"
)

func set(first coach.Phase) tempo.Set {
	return tempo.Set{Rate: coach.SessionRate, First: first, Sides: coach.BothSides, Side: coach.Both, From: 1, Reps: 10,
		Pace: coach.Pace{Lift: 2 * time.Second, Lower: 3 * time.Second, CountIn: 3, BreathEvery: 3}}
}

func of(ms []tempo.Mark, k coach.CueKind) []tempo.Mark {
	var out []tempo.Mark
	for _, m := range ms {
		if m.Kind == k {
			out = append(out, m)
		}
	}
	return out
}

func TestPlainSet(t *testing.T) {
	ms := set(coach.Lift).Marks()
	for i, m := range of(ms, coach.CueCountIn) {
		assert.Equal(t, coach.Samples(i*48000), m.At)
		assert.Equal(t, 3-i, m.N)
	}
	lifts, lowers := of(ms, coach.CueLift), of(ms, coach.CueLower)
	require.Len(t, lifts, 10)
	require.Len(t, lowers, 10)
	for k := range 10 {
		assert.Equal(t, coach.Samples((3+5*k)*48000), lifts[k].At)
		assert.Equal(t, coach.Samples(2*48000), lifts[k].Length)
		assert.Equal(t, coach.Samples((5+5*k)*48000), lowers[k].At)
		assert.Equal(t, coach.Samples(3*48000), lowers[k].Length)
	}
	assert.Empty(t, of(ms, coach.CueTop), "a phase of no length has no mark")
	assert.Len(t, of(ms, coach.CueBeat), 10*(1+2))
	var breaths []int
	for _, b := range of(ms, coach.CueBreath) {
		breaths = append(breaths, b.Rep)
		assert.Equal(t, lifts[b.Rep-1].At, b.At, "a breath is due before its lift")
	}
	assert.Equal(t, []int{3, 6, 9}, breaths)
	last := of(ms, coach.CueSay)
	require.Len(t, last, 1)
	assert.Equal(t, lifts[9].At, last[0].At)
	assert.Equal(t, coach.Samples(53*48000), set(coach.Lift).End())
}

func TestLowerFirst(t *testing.T) {
	s := set(coach.Lower)
	s.Pace.Top, s.Pace.Bottom = time.Second, 1500*time.Millisecond
	var kinds []coach.CueKind
	for _, m := range s.Marks() {
		if m.Rep == 1 {
			kinds = append(kinds, m.Kind)
		}
	}
	assert.Equal(t, []coach.CueKind{coach.CueLower, coach.CueBeat, coach.CueBeat,
		coach.CueBottom, coach.CueBeat, coach.CueLift, coach.CueBeat, coach.CueTop}, kinds)
}

func TestSides(t *testing.T) {
	s := set(coach.Lift)
	s.Sides = coach.Alternating
	for _, m := range of(s.Marks(), coach.CueLift) {
		want := coach.Right
		if m.Rep%2 == 1 {
			want = coach.Left
		}
		assert.Equal(t, want, m.Side)
	}
	s.Sides, s.Side = coach.EachSide, coach.Right
	for _, m := range of(s.Marks(), coach.CueLift) {
		assert.Equal(t, coach.Right, m.Side)
	}
}

// After a pause the set begins at the repetition that was broken off.
func TestFrom(t *testing.T) {
	s := set(coach.Lift)
	s.From = 7
	lifts := of(s.Marks(), coach.CueLift)
	require.Len(t, lifts, 4)
	assert.Equal(t, 7, lifts[0].Rep)
	assert.Equal(t, coach.Samples(3*48000), lifts[0].At)
	assert.Equal(t, coach.Samples((3+4*5)*48000), s.End())
}

// Every position against arithmetic in fractions, at awkward tempi and rates,
// for more than an hour: nothing accumulates.
func TestPositionsAreExact(t *testing.T) {
	for _, rate := range []coach.Rate{8000, 11025, 22050, 44100, 48000, 96000, 192000} {
		for _, p := range []coach.Pace{
			{Lift: 2 * time.Second, Lower: 3 * time.Second},
			{Lift: 1700 * time.Millisecond, Lower: 2333 * time.Millisecond, Top: 411 * time.Millisecond},
			{Lift: 1333333333, Lower: 2666666667, Bottom: 777777777},
			{Lift: 1000000001, Lower: 999999999},
		} {
			p.CountIn = 3
			s := tempo.Set{Rate: rate, Pace: p, First: coach.Lift, From: 1, Reps: 1000}
			k := int64(0)
			for _, m := range s.Marks() {
				if m.Kind != coach.CueLift {
					continue
				}
				ns := 3*int64(time.Second) + k*int64(tempo.Period(p))
				require.Equal(t, nearest(ns, rate), int64(m.At), "rate %d, repetition %d", rate, m.Rep)
				k++
			}
			require.Equal(t, int64(1000), k)
			require.Greater(t, s.End(), coach.Samples(1900)*coach.Samples(rate))
		}
	}
}

// nearest is the sample nearest to a time, by rational arithmetic.
func nearest(ns int64, rate coach.Rate) int64 {
	x := new(big.Rat).SetFrac(new(big.Int).Mul(big.NewInt(ns), big.NewInt(int64(rate))), big.NewInt(int64(time.Second)))
	x.Add(x, big.NewRat(1, 2))
	return new(big.Int).Div(x.Num(), x.Denom()).Int64()
}

// The end of each phase is the start of the next, to the sample.
func TestPhasesMeet(t *testing.T) {
	s := set(coach.Lower)
	s.Pace = coach.Pace{Lift: 1333333333, Top: 100000007, Lower: 2999999999, Bottom: 3, CountIn: 2}
	at := coach.Samples(2 * 48000)
	for _, m := range s.Marks() {
		switch m.Kind {
		case coach.CueLift, coach.CueTop, coach.CueLower, coach.CueBottom:
			require.Equal(t, at, m.At)
			at += m.Length
		}
	}
	assert.Equal(t, s.End(), at)
}

func TestMarksAreInOrder(t *testing.T) {
	for _, first := range []coach.Phase{coach.Lift, coach.Lower} {
		ms := set(first).Marks()
		for i := 1; i < len(ms); i++ {
			require.LessOrEqual(t, ms[i-1].At, ms[i].At)
		}
	}
}
