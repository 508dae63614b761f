package clinic

import (
	"math"
	"math/rand/v2"

	"evenbell/coach"
)

// body is what a person is able to do, which nobody ever sees.
type body struct {
	r     *rand.Rand
	curve float64            // how repetitions fall with the load: Epley's constant, a person's own
	lean  float64            // how far they misjudge what is left, in repetitions
	gain  float64            // of the way to what they can reach, a session
	once  map[string]float64 // by exercise, what could be done once, in kg or what stands for it
	reach map[string]float64 // the most it can become
	today float64            // how the day goes
}

func newBody(r *rand.Rand) *body {
	return &body{r: r, curve: 22 + 20*r.Float64(), lean: 1.6*r.Float64() - 0.8, gain: 0.025 + 0.03*r.Float64(),
		once: make(map[string]float64), reach: make(map[string]float64), today: 1}
}

// weight is what a load weighs in the arithmetic of an invented body; bands
// and the body alone have a number that only makes them comparable.
func weight(l coach.Load) float64 {
	switch l.Kind() {
	case coach.DumbbellLoad:
		return l.Grams() / 1000
	case coach.BandLoad:
		return 2 + 1.5*float64(l.Band())
	}
	return 6
}

// meet makes the body know an exercise: its first dose leaves two to five
// repetitions.
func (b *body) meet(exercise string, load coach.Load, reps int) {
	if _, known := b.once[exercise]; known {
		return
	}
	allows := float64(reps) + 2 + 3*b.r.Float64()
	b.once[exercise] = weight(load) * (1 + allows/b.curve)
	b.reach[exercise] = b.once[exercise] * (1.15 + 0.45*b.r.Float64())
}

// left is how many repetitions a dose leaves today; negative where it is more
// than can be done.
func (b *body) left(exercise string, load coach.Load, reps int) float64 {
	return math.Floor(b.curve*(b.once[exercise]*b.today/weight(load)-1)) - float64(reps)
}

// names is the reserve a person names who has so much left.
func (b *body) names(left float64) coach.Reserve {
	felt := left + b.lean + b.r.NormFloat64()
	switch {
	case felt < 1.5:
		return coach.ReserveNone
	case felt < 4.5:
		return coach.ReserveFew
	}
	return coach.ReserveMany
}

// trained is what one session gives.
func (b *body) trained(exercise string) {
	b.once[exercise] += b.gain * (b.reach[exercise] - b.once[exercise])
}
