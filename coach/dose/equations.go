package dose

import (
	"fmt"
	"math"
)

// Equation predicts the most a person can lift once from the most
// repetitions they can do with a load.
type Equation struct {
	ID   string // as in JSON
	Name string
	Most int // repetitions up to which it is defined and rises
	// factor is the maximum for a load of one, given repetitions.
	factor func(r float64) float64
}

// StudiedReps is how many repetitions the published equations were fitted to;
// beyond it they extrapolate (from memory).
const StudiedReps = 10

// Equations are the seven published equations, as quoted by secondary pages.
// Brzycki's is singular at 37 repetitions and Lander's just under 38; the
// others are cut off where nobody would use them.
var Equations = []Equation{
	{"epley", "Epley 1985", 60, func(r float64) float64 { return 1 + r/30 }},
	{"brzycki", "Brzycki 1993", 36, func(r float64) float64 { return 36 / (37 - r) }},
	{"lander", "Lander", 37, func(r float64) float64 { return 100 / (101.3 - 2.67123*r) }},
	{"lombardi", "Lombardi", 60, func(r float64) float64 { return math.Pow(r, 0.10) }},
	{"mayhew", "Mayhew", 60, func(r float64) float64 { return 100 / (52.2 + 41.9*math.Exp(-0.055*r)) }},
	{"oconner", "O'Conner", 60, func(r float64) float64 { return 1 + 0.025*r }},
	{"wathan", "Wathan", 60, func(r float64) float64 { return 100 / (48.8 + 53.8*math.Exp(-0.075*r)) }},
}

// MostReps is how many repetitions every equation is defined for.
const MostReps = 36

// Max is the most that can be lifted once, in the unit of load, given that
// reps repetitions are the most that can be done with load. At one repetition
// it is the load itself, whatever the formula gives there.
func (e Equation) Max(load float64, reps int) (float64, error) {
	switch {
	case reps < 1 || reps > e.Most:
		return 0, fmt.Errorf("%s is defined from 1 to %d repetitions, not for %d", e.Name, e.Most, reps)
	case reps == 1:
		return load, nil
	}
	return load * e.factor(float64(reps)), nil
}

// Load is the load for which reps repetitions are the most that can be done,
// in the unit of max, the most that can be lifted once.
func (e Equation) Load(max float64, reps int) (float64, error) {
	one, err := e.Max(1, reps)
	if err != nil {
		return 0, err
	}
	return max / one, nil
}

// chart is percent of the maximum by repetitions; 0 where it has no column
// (NSCA chart, as quoted by a secondary page).
var chart = [...]float64{1: 100, 2: 95, 3: 93, 4: 90, 5: 87, 6: 85, 7: 83, 8: 80, 9: 77, 10: 75, 12: 70}

// ChartMax is the most that can be lifted once by the chart of percentages;
// false where the chart has no column for reps.
func ChartMax(load float64, reps int) (float64, bool) {
	if reps < 1 || reps >= len(chart) || chart[reps] == 0 {
		return 0, false
	}
	return load * 100 / chart[reps], true
}

// ChartLoad is the load for which reps are the most that can be done, by the
// chart; false where it has no column for reps.
func ChartLoad(max float64, reps int) (float64, bool) {
	if reps < 1 || reps >= len(chart) || chart[reps] == 0 {
		return 0, false
	}
	return max * chart[reps] / 100, true
}
