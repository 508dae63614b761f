package class

import (
	"strings"
	"unicode"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/strict"
)

// Class is a class file, format "class/1": one day plan for everybody, the
// places of the gym, and when people come. The plan is the approved parent of
// the plans made for the stations.
type Class struct {
	Plan     *plan.Plan      // nil until Of where the file names none
	Begins   coach.TimeOfDay // on the clock of the clinic
	Latest   int             // seconds from the beginning; 0 for no limit
	Places   []Place
	WarmUp   Area
	CoolDown Area
	MatLast  bool // everybody goes to the mat after all other work, though the class may end later
	Walk     int  // seconds between any two places that say nothing else
	Walks    map[[2]string]int
	Tags     []string // of those the file says something about, in its order
	Arrives  map[string]int
	Fixed    map[string]bool
}

// Place is one station's place and what can be done there.
type Place struct {
	Name      string // the station's name
	Stands    string // such as "by the window"
	Spoken    string // as a station says it, such as "the place by the window"; the name where none is given
	Positions []string
	Loads     []coach.LoadKind
}

// Area is where several warm up or cool down at once, led by staff.
type Area struct {
	Name     string
	Spoken   string // as Place.Spoken
	Capacity int
}

// The words a class file has for positions: on the mat is one of them.
var positions = []string{"standing", "wall", "seated", "mat"}

func positionWord(p coach.Position) string {
	switch {
	case p.OnMat():
		return "mat"
	case p == coach.AtWall:
		return "wall"
	case p == coach.Seated:
		return "seated"
	}
	return "standing"
}

// hosts reports whether an item can be done at the place.
func (p *Place) hosts(it coach.Item) bool {
	at, with := false, it.Dose.Load.Kind() == coach.BodyLoad
	for _, w := range p.Positions {
		at = at || w == positionWord(it.Position)
	}
	for _, k := range p.Loads {
		with = with || k == it.Dose.Load.Kind()
	}
	return at && with
}

// Named finds the plan that a class file names: what faults call it, and its
// text.
type Named func(name string) (file string, text []byte, err error)

// Read reads a class file, which came from the file of that name, and the plan
// it names, against a protocol, and gives every fault of both at once; with any
// that is more than a warning there is no class. Without a finder no plan is
// named: whom it is for stands in the file, and Of gives it their plan.
func Read(file string, text []byte, limits *protocol.Protocol, find Named) (*Class, []coach.Fault) {
	f := strict.Parse(file, text)
	c := &Class{Walks: map[[2]string]int{}, Arrives: map[string]int{}, Fixed: map[string]bool{}}
	var planFaults []coach.Fault
	if f.Format("class", 1) {
		t := f.Root()
		if find != nil {
			planFaults = c.readPlan(t, limits, find)
		}
		c.readGym(t)
		c.readPeople(t, find == nil)
	}
	faults := append(f.Faults(), planFaults...)
	if len(coach.Errors(faults)) > 0 {
		return nil, faults
	}
	return c, faults
}

func (c *Class) readPlan(t *strict.Table, limits *protocol.Protocol, find Named) []coach.Fault {
	name, ok := t.Text("plan", strict.Required)
	if !ok {
		return nil
	}
	file, text, err := find(name)
	if err != nil {
		t.Fault("plan", "cannot be read: %v", err)
		return nil
	}
	pl, faults := plan.Read(file, text, limits)
	c.Plan = pl
	if pl == nil {
		return faults
	}
	for _, v := range pl.Patients {
		if v.Part != coach.Whole {
			t.Fault("plan", "%s of %s has part %q; a class is made from whole sessions", v.Tag, file, v.Part)
		}
	}
	return faults
}

// Of is the class with the plan of everybody in it.
func (c *Class) Of(pl *plan.Plan) *Class {
	out := *c
	out.Plan = pl
	return &out
}

// mostSeconds is a day: nothing in a class is longer.
const mostSeconds = 86400

// whole reads a whole number of seconds (or of people) from least to most.
func whole(t *strict.Table, key string, need strict.Need, least, most int) (int, bool) {
	n, ok := t.Int(key, need)
	if ok && (n < least || n > most) {
		t.Fault(key, "is %d; a whole number from %d to %d", n, least, most)
		return 0, false
	}
	return n, ok
}

func (c *Class) readGym(t *strict.Table) {
	if s, ok := t.Text("begins", strict.Required); ok {
		at, err := coach.ParseTimeOfDay(s)
		if err != nil {
			t.Fault("begins", "%v", err)
		}
		c.Begins = at
	}
	c.Walk, _ = whole(t, "walk", strict.Required, 0, 3600)
	c.Latest, _ = whole(t, "latest_end", strict.Optional, 1, mostSeconds)
	c.MatLast, _ = t.Bool("mat_last", strict.Optional)
	c.WarmUp, c.CoolDown = readArea(t, "warm_up"), readArea(t, "cool_down")
	names := map[string]bool{}
	places, ok := t.Tables("place", strict.Required)
	if ok && len(places) == 0 {
		t.Fault("place", "there is none; at least one [[place]]")
	}
	for _, sub := range places {
		pl := readPlace(sub)
		if names[strings.ToLower(pl.Name)] {
			sub.Fault("name", "%q is the name of another place already", pl.Name)
		}
		names[strings.ToLower(pl.Name)] = true
		c.Places = append(c.Places, pl)
	}
	walks, _ := t.Tables("walk_between", strict.Optional)
	for _, sub := range walks {
		c.readWalk(sub)
	}
}

func readPlace(t *strict.Table) Place {
	pl := Place{}
	pl.Name, _ = t.Text("name", strict.Required)
	if t.Has("name") && strings.TrimSpace(pl.Name) == "" {
		t.Fault("name", "is empty; the name of the station that stands there")
	}
	pl.Stands, _ = t.Text("stands", strict.Optional)
	pl.Spoken = spokenName(t, pl.Name)
	pl.Positions, _ = t.Texts("positions", strict.Required)
	for _, w := range pl.Positions {
		if !contains(positions, w) {
			t.Fault("positions", "%q is not allowed; any of %s", w, strings.Join(positions, ", "))
		}
	}
	loads, _ := t.Texts("loads", strict.Optional)
	for _, w := range loads {
		if w != string(coach.BandLoad) && w != string(coach.DumbbellLoad) {
			t.Fault("loads", "%q is not allowed; any of dumbbell, band (body weight goes everywhere)", w)
		}
		pl.Loads = append(pl.Loads, coach.LoadKind(w))
	}
	return pl
}

// mostSpoken is the most letters of a place's spoken name.
const mostSpoken = 80

func spokenName(t *strict.Table, name string) string {
	s, ok := t.Text("spoken", strict.Optional)
	if !ok {
		return name
	}
	if strings.TrimSpace(s) == "" || len([]rune(s)) > mostSpoken || strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) {
		t.Fault("spoken", "%q cannot be said; one line of 1 to %d letters, such as \"the place by the window\"", s, mostSpoken)
	}
	return s
}

func contains(list []string, w string) bool {
	for _, x := range list {
		if x == w {
			return true
		}
	}
	return false
}

func readArea(t *strict.Table, key string) Area {
	a := Area{Name: strings.ReplaceAll(key, "_", "-") + " area"}
	sub, ok := t.Table(key, strict.Required)
	if !ok {
		return a
	}
	if name, ok := sub.Text("name", strict.Optional); ok {
		a.Name = name
	}
	a.Spoken = spokenName(sub, a.Name)
	a.Capacity, _ = whole(sub, "capacity", strict.Required, 1, 1000)
	return a
}

// readWalk reads the walk between two places, or between a place and an area.
func (c *Class) readWalk(t *strict.Table) {
	names := []string{c.WarmUp.Name, c.CoolDown.Name}
	for _, pl := range c.Places {
		names = append(names, pl.Name)
	}
	ends, ok := t.Texts("places", strict.Required)
	if ok && len(ends) != 2 {
		t.Fault("places", "are %d; two, by name", len(ends))
	}
	for _, n := range ends {
		if !contains(names, n) {
			t.Fault("places", "%q is no place of this class; it has %s", n, strings.Join(names, ", "))
		}
	}
	s, timed := whole(t, "seconds", strict.Required, 0, 3600)
	if ok && timed && len(ends) == 2 {
		c.Walks[[2]string{ends[0], ends[1]}], c.Walks[[2]string{ends[1], ends[0]}] = s, s
	}
}

// readPeople reads what the class adds to the plan about a person; where no
// plan is named, who is in it at all.
func (c *Class) readPeople(t *strict.Table, all bool) {
	people, _ := t.Tables("patient", strict.Need(all))
	for _, sub := range people {
		tag, ok := sub.Text("tag", strict.Required)
		if ok && c.Plan != nil && !contains(c.Plan.Tags(), tag) {
			sub.Fault("tag", "%q is not in the plan; it has %s", tag, strings.Join(c.Plan.Tags(), ", "))
		}
		if contains(c.Tags, tag) {
			sub.Fault("tag", "%q is given twice", tag)
		}
		c.Tags = append(c.Tags, tag)
		c.Arrives[tag], _ = whole(sub, "arrives", strict.Optional, 0, mostSeconds)
		c.Fixed[tag], _ = sub.Bool("fixed_order", strict.Optional)
	}
}
