package circuit_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/circuit/taillard"
)

func matrix(r *rand.Rand, patients, places, most int) [][]int {
	out := make([][]int, patients)
	for j := range out {
		for range places {
			s := r.IntN(most + 1)
			if r.IntN(6) == 0 {
				s = 0
			}
			out[j] = append(out[j], s)
		}
	}
	return out
}

func solved(t *testing.T, p *circuit.Problem, iterations int) *circuit.Timetable {
	t.Helper()
	got, err := circuit.Solve(p, circuit.Options{Seed: 7, Iterations: iterations})
	require.NoError(t, err)
	require.Empty(t, broken(p, got))
	return got
}

func bare(t *testing.T, seconds [][]int, rest, walk int) *circuit.Problem {
	t.Helper()
	p, err := circuit.OpenShop(seconds, rest, walk)
	require.NoError(t, err)
	return p
}

func TestSmallOpenShopsAreSolvedExactly(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := range 60 {
		seconds := matrix(r, 2+r.IntN(2), 2+r.IntN(2), 9)
		p := bare(t, seconds, r.IntN(4), r.IntN(4))
		got := solved(t, p, 5000)
		require.True(t, got.Optimal(), "no %d: %v is not searched to the end", n, seconds)
		if want := exhaustive(p); want < 1<<60 {
			require.Equal(t, want, got.Span, "no %d: %v", n, seconds)
		}
	}
}

// small is a class of a few visits with every rule somewhere in it.
func small(r *rand.Rand) *circuit.Problem {
	p := &circuit.Problem{Places: []circuit.Place{{Name: "a", Capacity: 1}, {Name: "b", Capacity: 1},
		{Name: "mat", Capacity: 1}, {Name: "floor", Capacity: 1 + r.IntN(2)}}}
	for range p.Places {
		p.Walk = append(p.Walk, []int{r.IntN(4), r.IntN(4), r.IntN(4), r.IntN(4)})
	}
	for j := range 2 {
		who := circuit.Patient{Tag: fmt.Sprint(j), Rest: r.IntN(8), Arrives: r.IntN(5), Fixed: r.IntN(4) == 0, MatLast: r.IntN(3) == 0}
		opt := func(place int) circuit.Option {
			return circuit.Option{Place: place, Lead: r.IntN(3), Item: 1 + r.IntN(9)}
		}
		if r.IntN(2) == 0 {
			who.Visits = append(who.Visits, circuit.Visit{Name: "warm", Kind: circuit.WarmUp, Where: []circuit.Option{opt(3)}})
		}
		who.Visits = append(who.Visits, circuit.Visit{Name: "one", Where: []circuit.Option{opt(0), opt(1)}},
			circuit.Visit{Name: "two", Mat: true, Where: []circuit.Option{opt(2)}})
		if r.IntN(2) == 0 && !who.Fixed {
			who.Visits = append(who.Visits, circuit.Visit{Name: "three", Mat: true, Where: []circuit.Option{opt(1)}})
		}
		if r.IntN(2) == 0 {
			who.Visits = append(who.Visits, circuit.Visit{Name: "cool", Kind: circuit.CoolDown, Where: []circuit.Option{opt(3)}})
		}
		p.Patients = append(p.Patients, who)
	}
	return p
}

func TestSmallClassesAreSolvedExactly(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for n := range 60 {
		p := small(r)
		got := solved(t, p, 5000)
		require.True(t, got.Optimal(), "no %d is not searched to the end", n)
		require.Equal(t, exhaustive(p), got.Span, "no %d", n)
	}
}

func TestTaillardsSmallInstances(t *testing.T) {
	for i, in := range taillard.Instances[:20] {
		got := solved(t, bare(t, in.Seconds(), 0, 0), 800_000)
		require.Equal(t, in.Best(), got.Span, "%d×%d no %d", in.Size, in.Size, i%10+1)
		require.GreaterOrEqual(t, got.Bound, in.Lower)
	}
}

func TestTaillardsLargerInstancesAreNear(t *testing.T) {
	for i, in := range taillard.Instances[20:] {
		if i%5 != 0 {
			continue // the measuring command does them all
		}
		got := solved(t, bare(t, in.Seconds(), 0, 0), 8000)
		require.GreaterOrEqual(t, got.Span, in.Best())
		require.LessOrEqual(t, 100*got.Span, 104*in.Best(), "%d×%d no %d", in.Size, in.Size, i%10+1)
	}
}

func TestInventedClassesAreValid(t *testing.T) {
	for _, size := range [][2]int{{8, 6}, {16, 8}, {30, 12}} {
		p := circuit.Invented(1, size[0], size[1])
		got := solved(t, p, 1500)
		require.Greater(t, got.Bound, 0)
	}
}

func TestSameMusclesAreKeptApart(t *testing.T) {
	p := bare(t, [][]int{{5, 5, 5, 5}}, 0, 0)
	for n, m := range []string{"chest", "chest", "biceps", "calves"} {
		v := &p.Patients[0].Visits[n]
		v.First, v.Last = coach.Muscle(m), coach.Muscle(m)
	}
	got := solved(t, p, 1000)
	a, b := got.Slots[0][0], got.Slots[0][1]
	require.False(t, a.End == b.Arrive || b.End == a.Arrive, "both chest items one after the other: %v", got.Slots)
}

func TestSameSeedSameTimetable(t *testing.T) {
	p := circuit.Invented(2, 10, 8)
	require.Equal(t, solved(t, p, 3000), solved(t, p, 3000))
}

func TestMoreRestNeverShortensAndAnotherPlaceNeverLengthens(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 40 {
		seconds := matrix(r, 3, 3, 9)
		before := solved(t, bare(t, seconds, 1, 0), 5000)
		rested := solved(t, bare(t, seconds, 1+r.IntN(5), 0), 5000)
		require.True(t, before.Optimal() && rested.Optimal())
		require.GreaterOrEqual(t, rested.Span, before.Span, "%v", seconds)
		p := small(r)
		narrow := solved(t, p, 5000)
		p.Places = append(p.Places, circuit.Place{Name: "new", Capacity: 1})
		for i := range p.Walk {
			p.Walk[i] = append(p.Walk[i], 1)
		}
		p.Walk = append(p.Walk, []int{1, 1, 1, 1, 0})
		p.Patients[0].Visits[0].Where = append(p.Patients[0].Visits[0].Where, circuit.Option{Place: 4, Item: 3})
		wide := solved(t, p, 5000)
		require.True(t, wide.Optimal() && narrow.Optimal())
		require.LessOrEqual(t, wide.Span, narrow.Span)
	}
}

func TestImpossibleClassesSayWhoWhereAndWhy(t *testing.T) {
	rows := []struct {
		change func(*circuit.Problem)
		says   []string
	}{
		{func(p *circuit.Problem) { p.Patients[1].Visits[0].Where = nil }, []string{"patient 2", "no place can host place 1"}},
		{func(p *circuit.Problem) { p.Latest = 10 }, []string{"cannot end by 0:10", "place 2", "0:18"}},
		{func(p *circuit.Problem) {
			p.Patients[0].Fixed = true
			p.Patients[0].Visits[0].Mat, p.Patients[0].Visits[2].Mat = true, true
		}, []string{"patient 1", "down to the floor twice"}},
	}
	for _, row := range rows {
		p := bare(t, [][]int{{2, 9, 2}, {3, 9, 1}}, 0, 0)
		row.change(p)
		_, err := circuit.Solve(p, circuit.Options{Iterations: 1000})
		require.True(t, errors.Is(err, circuit.ErrImpossible), "%v", err)
		for _, w := range row.says {
			require.ErrorContains(t, err, w)
		}
	}
}

func TestPictureIsWellFormedAndTheSame(t *testing.T) {
	p := circuit.Invented(1, 5, 6)
	p.Patients[0].Tag = `<K&4>`
	got := solved(t, p, 500)
	when := func(s int) string { return fmt.Sprintf("%d:%02d", s/60, s%60) }
	svg := circuit.Picture(p, got, when, 600)
	require.Equal(t, svg, circuit.Picture(p, got, when, 600))
	d := xml.NewDecoder(strings.NewReader(string(svg)))
	for {
		if _, err := d.Token(); err == io.EOF {
			break
		} else {
			require.NoError(t, err)
		}
	}
	require.Contains(t, string(svg), "now, 10:00")
	require.Contains(t, string(svg), "<title>walk, ")
	require.Equal(t, 2*5*8, strings.Count(string(svg), "<g><title>"), "each visit by place and by patient: six items, warm-up and cool-down")
}
