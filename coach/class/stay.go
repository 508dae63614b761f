package class

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
)

// Stay is one patient's Stay at one place: its items are done there one after
// the other, in one session of that station.
type Stay struct {
	Place int   `json:"place"`
	Items []int `json:"items"` // of the patient's plan, from 0
}

// share decides which of a patient's items is done where: the mat in one go at
// one place where a place has room for all of it, and otherwise each item at a
// place of its own, the least used that hosts it. Only where no other place is
// left do two items become one stay. load is the seconds given to each place
// so far, and is added to.
func (c *Class) share(who coach.Programme, fixed bool, load []int) ([]Stay, error) {
	var stays []Stay
	for _, unit := range c.units(who) {
		at, taken := -1, false
		for i := range c.Places {
			if !c.hostsAll(i, who, unit) {
				continue
			}
			used := slices.ContainsFunc(stays, func(s Stay) bool { return s.Place == i })
			if at < 0 || taken && !used || taken == used && load[i] < load[at] {
				at, taken = i, used
			}
		}
		if at < 0 {
			return nil, c.nowhere(who, unit)
		}
		for _, n := range unit {
			load[at] += roughly(who.Items[n])
		}
		if !taken {
			stays = append(stays, Stay{at, unit})
			continue
		}
		i := slices.IndexFunc(stays, func(s Stay) bool { return s.Place == at })
		stays[i].Items = append(stays[i].Items, unit...)
		slices.Sort(stays[i].Items)
	}
	slices.SortFunc(stays, func(a, b Stay) int { return a.Items[0] - b.Items[0] })
	for _, s := range stays {
		if fixed && s.Items[len(s.Items)-1]-s.Items[0] != len(s.Items)-1 {
			return nil, fmt.Errorf("%w: %s: items %d and %d are both done at %s in one stay, which the fixed order does not allow; another place for one of them, or no fixed order",
				circuit.ErrImpossible, who.Tag, s.Items[0]+1, s.Items[len(s.Items)-1]+1, c.Places[s.Place].Name)
		}
	}
	return stays, nil
}

// units are the items that stay together: what is on the mat, where one place
// hosts all of it; the others alone. Those with the fewest places come first.
func (c *Class) units(who coach.Programme) [][]int {
	var units [][]int
	var mat []int
	for n, it := range who.Items {
		if it.Position.OnMat() {
			mat = append(mat, n)
		} else {
			units = append(units, []int{n})
		}
	}
	together := slices.ContainsFunc(c.Places, func(pl Place) bool {
		return !slices.ContainsFunc(mat, func(n int) bool { return !pl.hosts(who.Items[n]) })
	})
	switch {
	case together && len(mat) > 0:
		units = append(units, mat)
	default:
		for _, n := range mat {
			units = append(units, []int{n})
		}
	}
	choices := func(unit []int) (n int) {
		for i := range c.Places {
			if c.hostsAll(i, who, unit) {
				n++
			}
		}
		return n
	}
	slices.SortStableFunc(units, func(a, b []int) int { return choices(a) - choices(b) })
	return units
}

func (c *Class) hostsAll(i int, who coach.Programme, unit []int) bool {
	return !slices.ContainsFunc(unit, func(n int) bool { return !c.Places[i].hosts(who.Items[n]) })
}

// nowhere says which item no place can host, and why not.
func (c *Class) nowhere(who coach.Programme, unit []int) error {
	it := who.Items[unit[0]]
	var why []string
	for _, pl := range c.Places {
		why = append(why, fmt.Sprintf("%s has %s", pl.Name, strings.Join(append(slices.Clone(pl.Positions), asWords(pl.Loads)...), ", ")))
	}
	return fmt.Errorf("%w: %s: no place can host item %d, %s (%s, %s): %s", circuit.ErrImpossible, who.Tag, unit[0]+1, it.Exercise, positionWord(it.Position), it.Dose.Load, strings.Join(why, "; "))
}

func asWords(kinds []coach.LoadKind) (out []string) {
	for _, k := range kinds {
		out = append(out, string(k))
	}
	return out
}

// roughly is about how many seconds an item takes, to share items out by.
func roughly(it coach.Item) int {
	reps := it.Dose.Reps * it.Dose.Sets * len(it.Sides.Passes())
	one := it.Pace.Lift + it.Pace.Top + it.Pace.Lower + it.Pace.Bottom
	return int((time.Duration(reps)*one + time.Duration(it.Dose.Sets)*it.Pace.Rest) / time.Second)
}

// part is the session of one stay, as the station will coach it.
func part(who coach.Programme, s Stay, as coach.Part) coach.Programme {
	who.Part, who.WarmUp, who.CoolDown, who.Home = as, 0, 0, nil
	who.WarmedUp, who.CoolsElsewhere = as.HasWarmUp(), as.HasCoolDown()
	who.Intro = who.Intro && as.HasWarmUp()
	items := who.Items
	who.Items = nil
	for _, n := range s.Items {
		who.Items = append(who.Items, items[n])
	}
	return who
}

// measured is how long a stay holds its place, from the real session with a
// person who answers half a second after each prompt: lead is from the arrival
// to the first item (greeting, question, and what the station lets rest there),
// item from there to the end of the station's last word. Both in whole
// seconds, rounded up; of the parts of the day that the stay may be, the
// longest. next is the longest name it may send the person on to.
func measured(who coach.Programme, s Stay, parts []coach.Part, next string, measure Measure) (lead, item int, err error) {
	total := 0
	who.Next = coach.Next{Place: next, At: longestTold}
	for _, as := range parts {
		first, all, err := measure(part(who, s, as))
		if err != nil {
			return 0, 0, err
		}
		lead, total = max(lead, first), max(total, all)
	}
	return lead, total - lead, nil
}

// longestTold is a time of day that takes long to say.
const longestTold coach.TimeOfDay = "11:27"

// longestName is the longest spoken name of a place.
func (c *Class) longestName() string {
	longest := c.CoolDown.Spoken
	for _, pl := range c.Places {
		if len(pl.Spoken) > len(longest) {
			longest = pl.Spoken
		}
	}
	return longest
}

// visits are a patient's visits for the timetable.
func (c *Class) visits(who coach.Programme, stays []Stay, measure Measure) ([]circuit.Visit, error) {
	area := func(name string, kind circuit.Kind, place int, d time.Duration) circuit.Visit {
		return circuit.Visit{Name: name, Kind: kind, Where: []circuit.Option{{Place: place, Item: int((d + time.Second - 1) / time.Second)}}}
	}
	var out []circuit.Visit
	if who.WarmUp > 0 {
		out = append(out, area("warm-up", circuit.WarmUp, len(c.Places), who.WarmUp))
	}
	parts := []coach.Part{coach.First, coach.Middle, coach.Last}
	if len(stays) == 1 {
		parts = []coach.Part{coach.Whole}
	}
	for _, s := range stays {
		lead, item, err := measured(who, s, parts, c.longestName(), measure)
		if err != nil {
			return nil, err
		}
		v := circuit.Visit{Where: []circuit.Option{{Place: s.Place, Lead: lead, Item: item}}}
		var names []string
		for _, n := range s.Items {
			names = append(names, who.Items[n].Exercise)
			v.Mat = v.Mat || who.Items[n].Position.OnMat()
		}
		v.Name = strings.Join(names, " + ")
		v.First, v.Last = c.muscle(who.Items[s.Items[0]]), c.muscle(who.Items[s.Items[len(s.Items)-1]])
		out = append(out, v)
	}
	if who.CoolDown > 0 {
		out = append(out, area("cool-down", circuit.CoolDown, len(c.Places)+1, who.CoolDown))
	}
	return out, nil
}

func (c *Class) muscle(it coach.Item) coach.Muscle {
	ex, ok := c.Plan.Exercise(it.Exercise)
	if !ok {
		return ""
	}
	return ex.Muscles[0]
}
