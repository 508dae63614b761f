package clinic

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/desk"
	"evenbell/coach/plan"
)

// On Thursdays of the last weeks people come to a class and go from station to
// station.
const (
	classWeeks   = 3
	classWeekday = 3 // from Monday = 0
	classWalk    = 20 * time.Second
)

// classDay reports whether the day's people come as a class.
func (p *Past) classDay(day coach.Day) bool {
	return day >= p.Today.AddDays(-7*classWeeks) && (int(day.Time().Weekday())+6)%7 == classWeekday
}

// classFile is the class of a morning: every station hosts standing and seated
// work, the last the mat, too.
func classFile(tags []string) string {
	text := fmt.Sprintf("format = \"class/1\"\nbegins = \"09:00\"\nwalk = %d\nwarm_up = { capacity = 6 }\ncool_down = { capacity = 6 }\n", int(classWalk.Seconds()))
	for i, b := range Bays {
		positions := `"standing", "wall", "seated"`
		if i == len(Bays)-1 {
			positions += `, "mat"`
		}
		text += fmt.Sprintf("[[place]]\nname = %q\nspoken = %q\npositions = [%s]\nloads = [\"dumbbell\", \"band\"]\n", b.Name, b.Place, positions)
	}
	for _, tag := range tags {
		text += fmt.Sprintf("[[patient]]\ntag = %q\n", tag)
	}
	return text
}

// arrival is one part of somebody's visit, when it is planned.
type arrival struct {
	tag string
	bay int
	at  int // seconds from the beginning
}

// class is a class of the day: its timetable, the plans of the stations, and
// each part coached when both the person and the place are free.
func (p *Past) class(ctx context.Context, day coach.Day, tags []string) error {
	// No budget: a search that a clock ends would give other weeks each time.
	k, err := p.Desk.AddClass(ctx, p.Assistant, day, classFile(tags), -time.Second)
	if err != nil {
		return fmt.Errorf("the class: %w", err)
	}
	if _, err := p.Desk.LoadClass(ctx, p.Assistant, k.ID); err != nil {
		return fmt.Errorf("loading the class: %w", err)
	}
	v, err := p.Desk.Class(ctx, p.Assistant, k.ID)
	if err != nil {
		return err
	}
	begin := p.at(day, 8*time.Hour+30*time.Minute)
	for _, b := range p.bays {
		if err := p.boot(ctx, b, begin); err != nil {
			return err
		}
	}
	c := &classToday{Past: p, day: day, plans: map[int]*plan.Plan{}, going: map[string]*walker{}, free: make([]time.Time, len(p.bays))}
	for i := range p.bays {
		c.plans[i] = v.Gym.PlanFor(v.Timetable, i)
	}
	for _, tag := range tags {
		p.met[tag]++
		p.freshen(tag)
		c.going[tag] = &walker{}
	}
	for _, a := range arrivals(v) {
		if err := c.part(ctx, a, v.Begins.Add(time.Duration(a.at)*time.Second)); err != nil {
			return fmt.Errorf("%s at %s: %w", a.tag, Bays[a.bay].Name, err)
		}
	}
	return nil
}

// arrivals are all parts of a class in the order in which they are to begin.
func arrivals(v *desk.ClassView) []arrival {
	var out []arrival
	for j, who := range v.Problem.Patients {
		for _, s := range v.Timetable.Slots[j] {
			if s.Place != circuit.Nowhere && s.Place < len(v.Gym.Places) {
				out = append(out, arrival{who.Tag, s.Place, s.Arrive})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b arrival) int { return cmp.Or(cmp.Compare(a.at, b.at), strings.Compare(a.tag, b.tag)) })
	return out
}

// classToday is a class that goes on.
type classToday struct {
	*Past
	day   coach.Day
	plans map[int]*plan.Plan // by bay
	going map[string]*walker
	free  []time.Time // of each bay
}

// walker is somebody on the way from place to place.
type walker struct {
	free  time.Time // from when on
	items int       // exercises begun so far
	gone  bool      // goes no further: a stop, not well, or away
}

// part coaches one part of somebody's visit, no earlier than it is planned.
func (c *classToday) part(ctx context.Context, a arrival, planned time.Time) error {
	who := c.going[a.tag]
	if who.gone {
		return nil
	}
	begin := planned
	for _, at := range []time.Time{who.free.Add(classWalk), c.free[a.bay].Add(10 * time.Second)} {
		if at.After(begin) {
			begin = at
		}
	}
	prog, err := c.plans[a.bay].Resolve(a.tag, c.day)
	if err != nil {
		return err
	}
	v := c.visitor(a.tag)
	v.before = who.items
	end, outcome, err := c.coach(ctx, c.bays[a.bay], c.plans[a.bay], &prog, v, begin)
	if err != nil {
		return err
	}
	who.free, who.items, c.free[a.bay] = end, who.items+len(prog.Items), end
	who.gone = outcome != coach.Completed && outcome != coach.FinishedEarly
	return c.attend(ctx)
}
