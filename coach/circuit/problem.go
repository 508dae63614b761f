package circuit

import (
	"fmt"

	"evenbell/coach"
)

// Kind says what a visit is for.
type Kind int

// The kinds of visit.
const (
	Work     Kind = iota // items
	WarmUp               // comes before all work
	CoolDown             // comes after all work
)

// Problem is a class to be timetabled. All times are whole seconds, from the
// beginning of the class.
type Problem struct {
	Places   []Place
	Walk     [][]int // [from][to]
	Patients []Patient
	Latest   int // when the last visit must have ended; 0 for no limit
}

// Place is where a visit can be: a station's place, or an area for several.
type Place struct {
	Name     string
	Capacity int // patients at once
}

// Patient is one person of the class.
type Patient struct {
	Tag     string
	Arrives int
	Rest    int // at least, from the end of an item to the next item's start
	Visits  []Visit
	Fixed   bool // visits are made in the order given
	MatLast bool // all other work comes before the mat; a fixed order goes before it
}

// Visit is one stay at a place.
type Visit struct {
	Name  string
	Kind  Kind
	Mat   bool
	First coach.Muscle // worked most by its first item; empty where it does not matter
	Last  coach.Muscle // worked most by its last item
	Where []Option     // at least one
}

// Option is a place that can host a visit, with how long it holds the place:
// Lead seconds from the arrival to the start of the item (greeting, question,
// and what is rested there), then Item seconds.
type Option struct {
	Place, Lead, Item int
}

// Gap is the least time from leaving one visit to arriving at the next: the
// walk or, between items, what of the rest is not taken after the arrival.
func (p *Problem) Gap(patient int, a Visit, from Option, b Visit, to Option) int {
	gap := p.Walk[from.Place][to.Place]
	if a.Kind == Work && b.Kind == Work {
		gap = max(gap, p.Patients[patient].Rest-to.Lead)
	}
	return gap
}

// mostVisits is how many visits of a patient with rules about their order can
// be looked through.
const mostVisits = 16

// Check reports the first thing that makes the class impossible or senseless,
// naming the patient and the place.
func (p *Problem) Check() error {
	if err := p.plain(); err != nil {
		return err
	}
	for _, who := range p.Patients {
		if err := contradiction(who, newRules(who, nil)); err != nil {
			return err
		}
	}
	return nil
}

// contradiction is what is wrong with a patient's rules.
func contradiction(who Patient, r *rules) error {
	if r != nil && r.least >= never {
		return fmt.Errorf("%s: in the fixed order the mat is left and gone back to; nobody gets down to the floor twice", who.Tag)
	}
	return nil
}

// plain is Check without the rules, which take longest to work out.
func (p *Problem) plain() error {
	if len(p.Patients) == 0 || len(p.Places) == 0 {
		return fmt.Errorf("a class has at least one patient and one place")
	}
	if len(p.Walk) != len(p.Places) {
		return fmt.Errorf("walking times for %d places, but there are %d", len(p.Walk), len(p.Places))
	}
	for i, place := range p.Places {
		if place.Capacity < 1 {
			return fmt.Errorf("%s holds %d patients; at least 1", place.Name, place.Capacity)
		}
		for _, s := range p.Walk[i] {
			if s < 0 || len(p.Walk[i]) != len(p.Places) {
				return fmt.Errorf("from %s there must be a walking time to each of %d places, 0 or more", place.Name, len(p.Places))
			}
		}
	}
	for _, who := range p.Patients {
		if err := p.checkPatient(who); err != nil {
			return err
		}
	}
	return nil
}

func (p *Problem) checkPatient(who Patient) error {
	if who.Arrives < 0 || who.Rest < 0 {
		return fmt.Errorf("%s: arrival and rest are 0 seconds or more", who.Tag)
	}
	if ruled(who) && len(who.Visits) > mostVisits {
		return fmt.Errorf("%s has %d visits; at most %d", who.Tag, len(who.Visits), mostVisits)
	}
	for _, v := range who.Visits {
		if len(v.Where) == 0 {
			return fmt.Errorf("%s: no place can host %s", who.Tag, v.Name)
		}
		for _, o := range v.Where {
			if o.Place < 0 || o.Place >= len(p.Places) || o.Lead < 0 || o.Item < 1 {
				return fmt.Errorf("%s: %s at place %d takes %d + %d seconds; a place of the class, and at least 1", who.Tag, v.Name, o.Place, o.Lead, o.Item)
			}
		}
	}
	return nil
}

// Slot is one visit in a timetable.
type Slot struct {
	Place              int
	Arrive, Start, End int // of the visit, of its item, of both
}

// Timetable is an answer: Slots[patient][visit] stands beside
// Patients[patient].Visits[visit].
type Timetable struct {
	Slots   [][]Slot
	Span    int    // when the last visit ends
	Bound   int    // no timetable ends sooner
	Why     string // what makes the bound, in words
	Waiting int    // seconds all patients together neither do nor rest nor walk
	Moved   int    // pairs of visits done in another order than the patient's own
	Tries   int    // timetables looked at
}

// Optimal reports whether no timetable ends sooner.
func (t *Timetable) Optimal() bool { return t.Span == t.Bound }
