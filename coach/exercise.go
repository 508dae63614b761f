package coach

// Side says which side of the body a repetition is for.
type Side string

// The sides. NoSide is for entries that belong to neither.
const (
	NoSide Side = ""
	Left   Side = "left"
	Right  Side = "right"
	Both   Side = "both"
)

// Sides says how an item shares its repetitions between the sides.
type Sides string

// The ways of sharing repetitions.
const (
	BothSides   Sides = "both"        // both sides move together
	Alternating Sides = "alternating" // left, right, left …; repetitions count both together
	EachSide    Sides = "each"        // one side to its end, then the other; repetitions per side
	LeftOnly    Sides = "left"        // the left side alone
	RightOnly   Sides = "right"       // the right side alone
)

// Passes lists the sides a set is led on, one after the other: one pass for
// most items, left then right for EachSide.
func (s Sides) Passes() []Side {
	switch s {
	case EachSide:
		return []Side{Left, Right}
	case LeftOnly:
		return []Side{Left}
	case RightOnly:
		return []Side{Right}
	default:
		return []Side{Both}
	}
}

// Phase is one part of a repetition.
type Phase string

// The phases of a repetition.
const (
	Lift   Phase = "lift"   // concentric: effort against the load
	Top    Phase = "top"    // still, at the end of the lift
	Lower  Phase = "lower"  // eccentric: giving way to the load
	Bottom Phase = "bottom" // still, at the end of the lower
)

// Position is how the body is placed during a stage.
type Position string

// The positions. The last four are on the mat.
const (
	Standing  Position = "standing"
	AtWall    Position = "at the wall"
	Seated    Position = "seated"
	OnBack    Position = "lying on the back"
	OnSide    Position = "lying on the side"
	OnFront   Position = "lying on the front"
	OnAllFour Position = "on all fours"
)

// OnMat reports whether the position is on the floor.
func (p Position) OnMat() bool {
	switch p {
	case OnBack, OnSide, OnFront, OnAllFour:
		return true
	}
	return false
}

// Positions lists them.
var Positions = []Position{Standing, AtWall, Seated, OnBack, OnSide, OnFront, OnAllFour}

// Region is the part of the body an exercise mainly works.
type Region string

// The regions: published starting loads differ by them.
const (
	UpperBody Region = "upper"
	LowerBody Region = "lower"
	Trunk     Region = "trunk"
)

// Regions lists them.
var Regions = []Region{UpperBody, LowerBody, Trunk}

// Muscle is a muscle group, by its trade name.
type Muscle string

// The muscle groups.
const (
	Chest      Muscle = "chest"
	UpperBack  Muscle = "upper back"
	LowerBack  Muscle = "lower back"
	Shoulders  Muscle = "shoulders"
	Biceps     Muscle = "biceps"
	Triceps    Muscle = "triceps"
	Abdominals Muscle = "abdominals"
	Gluteals   Muscle = "gluteals"
	Quadriceps Muscle = "quadriceps"
	Hamstrings Muscle = "hamstrings"
	Calves     Muscle = "calves"
	Shins      Muscle = "shins"
	HipSide    Muscle = "hip abductors"
	HipFront   Muscle = "hip flexors"
)

// Muscles lists them.
var Muscles = []Muscle{Chest, UpperBack, LowerBack, Shoulders, Biceps, Triceps, Abdominals, Gluteals,
	Quadriceps, Hamstrings, Calves, Shins, HipSide, HipFront}

// PrecautionKind is a reason to leave some exercises out.
type PrecautionKind string

// The precautions a plan may name.
const (
	Sternum          PrecautionKind = "sternum"
	ShoulderTrouble  PrecautionKind = "shoulder"
	KneeTrouble      PrecautionKind = "knee"
	LowerBackTrouble PrecautionKind = "lower-back"
	NoFloor          PrecautionKind = "no-floor"
	PoorBalance      PrecautionKind = "balance"
	DeviceArm        PrecautionKind = "device-arm"
	WristTrouble     PrecautionKind = "wrist"
	NeckTrouble      PrecautionKind = "neck"
)

// PrecautionKinds lists every kind in the order they are written about.
var PrecautionKinds = []PrecautionKind{Sternum, ShoulderTrouble, KneeTrouble, LowerBackTrouble,
	NoFloor, PoorBalance, DeviceArm, WristTrouble, NeckTrouble}

// Precaution is one patient's reason to leave some exercises out.
type Precaution struct {
	Kind  PrecautionKind
	Side  Side // Left, Right or Both; NoSide counts as Both
	Since Day  // the event; empty when not known
	Until Day  // last day in force; empty when open
}

// Exercise is one exercise of the catalogue. Its words are in coach/script.
type Exercise struct {
	ID      string
	Name    string // plain English, for staff pages and tables
	Region  Region
	Muscles []Muscle // the one worked most first
	Stages  []Stage  // from easier to harder; the first is the default
	// Instead says what to choose when a precaution bars every stage; an
	// empty id means: leave it out. Its keys are exactly the precautions
	// that bar at least one stage.
	Instead map[PrecautionKind]string
}

// Stage is one way to do an exercise. First phase, sides and position belong
// here: a triceps extension lying lowers first, a kickback lifts first.
type Stage struct {
	ID       string
	Name     string // plain English
	Position Position
	First    Phase   // Lift or Lower
	Sides    []Sides // the ways it can be shared; the first is the default
	// Loads are the kinds of load it takes; never empty.
	Loads []LoadKind
	// Dumbbells in use when both sides work: 0, 1 or 2. One side alone
	// never holds more than one.
	Dumbbells int
	// Range is how far the movement may go, in words; empty where the trade sets none.
	Range string
	// Bars are the precautions this stage goes against.
	Bars []Bar
}

// Bar says that a precaution rules a stage out.
type Bar struct {
	Kind PrecautionKind
	// OneSided is true where working the other side alone is still allowed.
	OneSided bool
}
