package catalogue

import (
	"slices"

	"evenbell/coach"
)

// Barred reports whether a stage, worked with these sides, goes against a
// precaution of a kind and side. Where the bar is one-sided, working only the
// other side is allowed. A precaution that names no side counts for both.
func Barred(s coach.Stage, kind coach.PrecautionKind, side coach.Side, sides coach.Sides) bool {
	i := slices.IndexFunc(s.Bars, func(b coach.Bar) bool { return b.Kind == kind })
	if i < 0 {
		return false
	}
	other := side == coach.Left && sides == coach.RightOnly ||
		side == coach.Right && sides == coach.LeftOnly
	return !(s.Bars[i].OneSided && other)
}

// BarredBy gives the first of the given precautions that a stage, worked with
// these sides, goes against.
func BarredBy(s coach.Stage, sides coach.Sides, given []coach.Precaution) (coach.Precaution, bool) {
	for _, p := range given {
		if Barred(s, p.Kind, p.Side, sides) {
			return p, true
		}
	}
	return coach.Precaution{}, false
}

// Choice is an exercise with its stage and sides.
type Choice struct {
	Exercise string
	Stage    string
	Sides    coach.Sides
}

// Alternative says what to choose for an exercise under the given
// precautions: the exercise itself in its first stage and sides that none of
// them bars, else the same of what its Instead names, and so on, nearest
// first. It reports false where the advice is to leave the exercise out, or
// the id is unknown.
func Alternative(id string, given []coach.Precaution) (Choice, bool) {
	for next, i := []string{id}, 0; i < len(next); i++ {
		e, ok := Find(next[i])
		if !ok {
			continue
		}
		if c, ok := allowed(e, given); ok {
			return c, true
		}
		for _, p := range given {
			if to := e.Instead[p.Kind]; to != "" && !slices.Contains(next, to) {
				next = append(next, to)
			}
		}
	}
	return Choice{}, false
}

// allowed finds the first stage of e, and in it the first way of sharing the
// sides, that no given precaution bars.
func allowed(e coach.Exercise, given []coach.Precaution) (Choice, bool) {
	for _, s := range e.Stages {
		for _, sides := range s.Sides {
			if _, barred := BarredBy(s, sides, given); !barred {
				return Choice{Exercise: e.ID, Stage: s.ID, Sides: sides}, true
			}
		}
	}
	return Choice{}, false
}
