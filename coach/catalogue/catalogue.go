package catalogue

import (
	"slices"
	"strings"

	"github.com/agnivade/levenshtein"

	"evenbell/coach"
)

// all is the catalogue in trade order: legs, arms, trunk off the mat, mat.
var all = slices.Concat(standingLegs, seatedLegs, pulls, presses, raises, seatedTrunk, mat)

// All lists the exercises in trade order: legs, arms and trunk, then the mat,
// the order a session takes them in, since who is down stays down.
func All() []coach.Exercise { return slices.Clone(all) }

// Find gives the exercise of an id.
func Find(id string) (coach.Exercise, bool) {
	i := slices.IndexFunc(all, func(e coach.Exercise) bool { return e.ID == id })
	if i < 0 {
		return coach.Exercise{}, false
	}
	return all[i], true
}

// Nearest gives the id that takes the fewest changed letters to reach from
// what was written; the earlier one in trade order where two are as near.
func Nearest(written string) string {
	written = strings.Join(strings.FieldsFunc(strings.ToLower(written), func(r rune) bool {
		return r == ' ' || r == '_' || r == '-'
	}), "-")
	nearest := slices.MinFunc(all, func(a, b coach.Exercise) int {
		return levenshtein.ComputeDistance(written, a.ID) - levenshtein.ComputeDistance(written, b.ID)
	})
	return nearest.ID
}

// Stage gives the stage of an exercise by id; an empty id is its default, the
// first.
func Stage(e coach.Exercise, id string) (coach.Stage, bool) {
	if id == "" && len(e.Stages) > 0 {
		return e.Stages[0], true
	}
	i := slices.IndexFunc(e.Stages, func(s coach.Stage) bool { return s.ID == id })
	if i < 0 {
		return coach.Stage{}, false
	}
	return e.Stages[i], true
}

// Hands is how many dumbbells are held at once when the stage is worked with
// these sides: one side alone never holds more than one. It answers for a
// dumbbell load; any other load is held in none.
func Hands(s coach.Stage, sides coach.Sides) int {
	if sides == coach.BothSides || sides == coach.Alternating {
		return s.Dumbbells
	}
	return min(s.Dumbbells, 1)
}

// Takes reports whether the stage is done with this kind of load.
func Takes(s coach.Stage, kind coach.LoadKind) bool { return slices.Contains(s.Loads, kind) }
