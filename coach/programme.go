package coach

import "time"

// Dose is how much of an exercise is prescribed.
type Dose struct {
	Load  Load
	Reps  int
	Sets  int
	Stage string
}

// Pace is the time course of an item.
type Pace struct {
	Lift, Top, Lower, Bottom time.Duration
	Rest                     time.Duration // after every set and between exercises
	Settle                   time.Duration // from the tap to the count-in
	CountIn                  int           // beats, one a second
	BreathEvery              int           // repetitions between breathing cues; 0 for none
}

// Guide is what a person hears while moving. It changes the sound, never the cues.
type Guide string

// The guides.
const (
	GuideTones Guide = "tones"
	GuideVoice Guide = "voice"
	GuideBoth  Guide = "both"
)

// Words is how much is said about an exercise before it begins.
type Words string

// The lengths. The zero Words counts as full.
const (
	WordsFull  Words = "full"
	WordsBrief Words = "brief" // the name, how many, the load and the one caution: for who knows the rest
)

// Part is which part of a day's session is done on this station.
type Part string

// The parts.
const (
	Whole  Part = "whole"
	First  Part = "first"
	Middle Part = "middle"
	Last   Part = "last"
)

// HasWarmUp reports whether the part begins the day's session.
func (p Part) HasWarmUp() bool { return p == Whole || p == First }

// HasCoolDown reports whether the part ends the day's session.
func (p Part) HasCoolDown() bool { return p == Whole || p == Last }

// Item is one exercise of one patient's plan with the catalogue's facts
// copied in, so that a session needs no catalogue.
type Item struct {
	Exercise  string
	Dose      Dose
	Sides     Sides
	First     Phase
	Position  Position
	Dumbbells int // in use at once: 0, 1 or 2
	Pace      Pace
	Last      Done // what was done last time; zero if the plan does not say
	Words     Words
}

// Done is what was done last time.
type Done struct {
	Load Load
	Reps int
}

// Patience is how long the station waits for an answer.
type Patience struct {
	Repeat  time.Duration // then the question is asked again
	Look    time.Duration // then the station says aloud that the place needs a look
	Abandon time.Duration // after Look: then the session ends
}

// Programme is what one station coaches one patient on one day, complete:
// nothing else is looked up during the session.
type Programme struct {
	Day            Day
	Clinic         string
	Approved       bool
	Tag            string
	Call           string // a word spoken instead of the tag
	Note           string // typed by staff, spoken after the welcome; mostly empty
	Guide          Guide
	Intro          bool // begin with the introduction to the sounds and buttons
	Part           Part
	WarmUp         time.Duration // 0 where Part has none
	CoolDown       time.Duration // 0 where Part has none
	WarmedUp       bool          // the warm-up is done elsewhere, before the session: ask
	CoolsElsewhere bool          // the cool-down is done elsewhere, after the session: say so
	Next           Next          // where the patient goes on to; zero where nothing is known of it
	SitBefore      time.Duration // sitting between the mat and standing
	Patience       Patience
	Items          []Item
	Own            []OwnExercise // those among the items that the catalogue does not have
	Home           *Home         // nil where staff are near
}
