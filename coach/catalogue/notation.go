package catalogue

import "evenbell/coach"

// The ways the sides share a stage; the first of each is its default.
var (
	together     = []coach.Sides{coach.BothSides}
	oneByOne     = []coach.Sides{coach.EachSide, coach.LeftOnly, coach.RightOnly}
	eachOrTurns  = []coach.Sides{coach.EachSide, coach.Alternating, coach.LeftOnly, coach.RightOnly}
	turnsOrEach  = []coach.Sides{coach.Alternating, coach.EachSide, coach.LeftOnly, coach.RightOnly}
	turnsOnly    = []coach.Sides{coach.Alternating, coach.EachSide}
	turnsOrBoth  = []coach.Sides{coach.Alternating, coach.BothSides, coach.EachSide, coach.LeftOnly, coach.RightOnly}
	bothOrTurns  = []coach.Sides{coach.BothSides, coach.Alternating, coach.EachSide, coach.LeftOnly, coach.RightOnly}
	bothOrSingle = []coach.Sides{coach.BothSides, coach.EachSide, coach.LeftOnly, coach.RightOnly}
)

// The loads a stage takes; the first of each is the usual one.
var (
	body           = []coach.LoadKind{coach.BodyLoad}
	bodyOrDumbbell = []coach.LoadKind{coach.BodyLoad, coach.DumbbellLoad}
	bodyOrBand     = []coach.LoadKind{coach.BodyLoad, coach.BandLoad}
	dumbbell       = []coach.LoadKind{coach.DumbbellLoad}
	dumbbellOrBody = []coach.LoadKind{coach.DumbbellLoad, coach.BodyLoad}
	dumbbellOrBand = []coach.LoadKind{coach.DumbbellLoad, coach.BandLoad}
	band           = []coach.LoadKind{coach.BandLoad}
)

// The range limits the trade sets: common practice, no source.
const (
	rightAngle     = "no deeper than a right angle at the knee"
	quarterWay     = "a quarter of the way up"
	shoulderHeight = "no higher than the shoulder"
)

// bars are the precautions a stage goes against whichever side works.
func bars(kinds ...coach.PrecautionKind) barList {
	return barList{}.add(false, kinds)
}

// barList is a stage's bars while they are being written down.
type barList []coach.Bar

// side adds the precautions that leave the other side free to work alone.
func (l barList) side(kinds ...coach.PrecautionKind) barList { return l.add(true, kinds) }

func (l barList) add(oneSided bool, kinds []coach.PrecautionKind) barList {
	for _, k := range kinds {
		l = append(l, coach.Bar{Kind: k, OneSided: oneSided})
	}
	return l
}

// instead is shorthand for what to choose under each precaution.
type instead = map[coach.PrecautionKind]string
