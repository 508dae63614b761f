package catalogue

import (
	"slices"

	"evenbell/coach"
)

// Programme is a built-in list of exercises to begin a plan from. Its loads
// are light ones to write a plan with, prescribed to nobody: staff set the
// dose and leave out what a precaution bars.
type Programme struct {
	ID    string
	Name  string
	Items []Item // in the order they are done
}

// Item is one exercise of a built-in programme, for one set.
type Item struct {
	Exercise string
	Stage    string
	Reps     int // as in a plan: per side for coach.EachSide, else in all
	Load     coach.Load
	Sides    coach.Sides
}

// Programmes lists the built-in programmes. Both keep the trade's order:
// standing before the mat, and never the same main muscle twice running.
func Programmes() []Programme {
	return []Programme{
		{ID: "quay-mat", Name: "Quay: standing, then the mat", Items: slices.Clone(quayMat)},
		{ID: "pier-chair", Name: "Pier: chair and wall", Items: slices.Clone(pierChair)},
	}
}

var quayMat = []Item{
	{"half-squat", "holding-on", 10, coach.Body(), coach.BothSides},
	{"dumbbell-row", "hand-on-chair", 10, kilograms(2), coach.EachSide},
	{"heel-raise", "holding-on", 10, coach.Body(), coach.BothSides},
	{"biceps-curl", "standing", 10, kilograms(2), coach.Alternating},
	{"hip-abduction", "holding-on", 10, coach.Body(), coach.EachSide},
	{"lateral-raise", "standing", 10, kilograms(1), coach.BothSides},
	{"bird-dog", "arm-and-leg", 10, coach.Body(), coach.Alternating},
	{"bridge", "arms-down", 10, coach.Body(), coach.BothSides},
	{"floor-fly", "bent-arms", 10, kilograms(1), coach.BothSides},
	{"curl-up", "hands-to-knees", 10, coach.Body(), coach.BothSides},
}

var pierChair = []Item{
	{"seated-march", "supported", 10, coach.Body(), coach.Alternating},
	{"seated-row", "seated", 10, coach.Band(1), coach.BothSides},
	{"chair-stand", "hands-on-thighs", 10, coach.Body(), coach.BothSides},
	{"wall-push-up", "near", 10, coach.Body(), coach.BothSides},
	{"hamstring-curl", "seated", 10, coach.Band(1), coach.EachSide},
	{"biceps-curl", "seated", 10, kilograms(1), coach.Alternating},
	{"knee-extension", "seated", 10, coach.Body(), coach.Alternating},
	{"lateral-raise", "seated", 10, kilograms(1), coach.BothSides},
	{"seated-heel-raise", "seated", 10, coach.Body(), coach.BothSides},
	{"seated-back-extension", "hands-on-thighs", 10, coach.Body(), coach.BothSides},
}

func kilograms(n int64) coach.Load { return coach.Dumbbell(1000*n, coach.Kilogram) }
