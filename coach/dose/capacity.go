package dose

import (
	"fmt"

	"evenbell/coach"
	"evenbell/coach/protocol"
)

// Range is a lowest and a highest value in one unit.
type Range struct{ Low, High float64 }

// Capacity is the most a person can lift once with reps repetitions of load
// done and reserve more thought possible: the lowest and the highest over all
// equations and over how far people misjudge their reserve. It is in the unit
// of load. Nobody can do fewer repetitions than were done.
func Capacity(p *protocol.Protocol, load float64, reps, reserve int) (Range, error) {
	return capacity(p, load, reps, reserve, reserve)
}

// CapacityOf is Capacity for an answer to the effort question. For five or
// more the upper end is only as high as the answer must mean.
func CapacityOf(p *protocol.Protocol, load float64, reps int, answer coach.Reserve) (Range, error) {
	switch answer {
	case coach.ReserveNone:
		return capacity(p, load, reps, 0, 1)
	case coach.ReserveFew:
		return capacity(p, load, reps, 2, 4)
	case coach.ReserveMany:
		return capacity(p, load, reps, 5, 5)
	}
	return Range{}, fmt.Errorf("%q is no answer to the effort question", answer)
}

func capacity(p *protocol.Protocol, load float64, reps, least, most int) (Range, error) {
	if !(load > 0) || reps < 1 || least < 0 {
		return Range{}, fmt.Errorf("a set has a load above zero, one repetition or more and no less than none in reserve, not %g, %d and %d", load, reps, least)
	}
	if reps+most > MostReps {
		return Range{}, fmt.Errorf("%d repetitions and %d in reserve are more than the %d the equations are defined for", reps, most, MostReps)
	}
	from := reps + max(least-misjudged(p, least), 0)
	to := min(reps+most+misjudged(p, most), MostReps)
	low, _ := span(load, from)
	_, high := span(load, to)
	return Range{low, high}, nil
}

// misjudged is by how many repetitions people are out when they name reserve.
func misjudged(p *protocol.Protocol, reserve int) int {
	if reserve <= p.Int(protocol.ReserveNear) {
		return p.Int(protocol.ReserveErrorNear)
	}
	return p.Int(protocol.ReserveErrorFar)
}

// span is the lowest and highest maximum over the equations; reps is within
// what all of them are defined for.
func span(load float64, reps int) (low, high float64) {
	for i, e := range Equations {
		m, err := e.Max(load, reps)
		if err != nil {
			panic(err) // callers keep reps within MostReps
		}
		if i == 0 {
			low, high = m, m
		}
		low, high = min(low, m), max(high, m)
	}
	return low, high
}

// LoadFor is the range of loads for which reps repetitions are the most that
// can be done, given how much can be lifted once: the lowest and the highest
// over all equations.
func LoadFor(most Range, reps int) (Range, error) {
	if reps < 1 || reps > MostReps {
		return Range{}, fmt.Errorf("the equations are defined from 1 to %d repetitions, not for %d", MostReps, reps)
	}
	low, high := span(1, reps)
	return Range{most.Low / high, most.High / low}, nil
}
