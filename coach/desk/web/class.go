package web

import (
	"cmp"
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
)

// classRoutes are the pages of a class.
func classRoutes() []route {
	return []route{
		{"GET /classes/new", desk.RunClass, showNewClass},
		{"POST /classes", desk.RunClass, addClass},
		{"GET /classes/{id}", desk.RunClass, showClass},
		{"GET /classes/{id}/picture.svg", desk.RunClass, drawClass},
		{"POST /classes/{id}/load", desk.RunClass, loadClass},
		{"POST /classes/{id}/late", desk.RunClass, lateForClass},
		{"POST /classes/{id}/left", desk.RunClass, leftClass},
	}
}

// classView is one class: who is where when.
type classView struct {
	*desk.ClassView
	People  []classPerson
	Ends    time.Time
	Running bool
	Over    bool
	At      int // seconds since the beginning, in steps that the picture is drawn anew in
	Form    *form
	Tags    []choice
}

// classPerson is one line of the timetable.
type classPerson struct {
	Tag, Name string
	Stops     []classStop
	// Cold says how long after the warm-up the first exercise begins, where
	// that is longer than the protocol lets a warm-up last; empty elsewhere.
	Cold string
}

// classStop is one visit.
type classStop struct {
	At    string
	Place string
	What  string
	Now   bool
}

func showClass(v *visit) error {
	view, err := classOf(v)
	if err != nil {
		return err
	}
	return v.page("class", view.title(), view)
}

func (c *classView) title() string { return "Class at " + c.Begins.Format("15:04") }

func classData(v *visit) (any, error) {
	v.pathNumber("id")
	return classOf(v)
}

// pictureEvery is how often the now-line moves, in seconds.
const pictureEvery = 15

func classOf(v *visit) (*classView, error) {
	id, err := v.number("id")
	if err != nil {
		return nil, err
	}
	c, err := v.desk().Class(v.ctx(), v.who, id)
	if err != nil {
		return nil, err
	}
	c.Begins = c.Begins.In(v.now.Location())
	view := &classView{ClassView: c, Form: newForm(), Ends: c.Begins.Add(time.Duration(c.Timetable.Span) * time.Second)}
	view.Running, view.Over = c.Now >= 0 && v.now.Before(view.Ends), !v.now.Before(view.Ends)
	view.At = c.Now - c.Now%pictureEvery
	names, err := v.patientNames()
	if err != nil {
		return nil, err
	}
	rules, err := v.desk().Protocol(v.ctx())
	if err != nil {
		return nil, err
	}
	for j, p := range c.Problem.Patients {
		line := classPerson{Tag: p.Tag, Name: names[p.Tag], Cold: coldWords(p, c.Timetable.Slots[j], rules.Seconds(protocol.RestartWarmUp))}
		for n, s := range c.Timetable.Slots[j] {
			if s.Place == circuit.Nowhere {
				continue
			}
			line.Stops = append(line.Stops, classStop{At: view.clock(s.Arrive), Place: c.Problem.Places[s.Place].Name, What: v.visitWords(p.Visits[n]), Now: s.Arrive <= c.Now && c.Now < s.End})
		}
		slices.SortFunc(line.Stops, func(a, b classStop) int { return cmp.Compare(a.At, b.At) })
		view.People = append(view.People, line)
		view.Tags = append(view.Tags, choice{Value: p.Tag, Label: strings.TrimSpace(names[p.Tag] + " " + p.Tag)})
	}
	return view, nil
}

// coldWords says how long a warm-up has to last until the first exercise, where
// that is longer than it may be; empty elsewhere.
func coldWords(p circuit.Patient, slots []circuit.Slot, most time.Duration) string {
	warm, first := -1, -1
	for n, s := range slots {
		switch {
		case s.Place == circuit.Nowhere:
		case p.Visits[n].Kind == circuit.WarmUp:
			warm = max(warm, s.End)
		case p.Visits[n].Kind == circuit.Work && (first < 0 || s.Arrive < first):
			first = s.Arrive
		}
	}
	gap := time.Duration(first-warm) * time.Second
	if warm < 0 || first < 0 || gap <= most {
		return ""
	}
	return fmt.Sprintf("%s between the warm-up and the first exercise; warm up again before it", ago(gap))
}

// visitWords are the exercises of a visit by name.
func (v *visit) visitWords(at circuit.Visit) string {
	if at.Kind != circuit.Work {
		return ""
	}
	ids := strings.Split(at.Name, " + ")
	for i, id := range ids {
		ids[i] = v.exercise(id)
	}
	return strings.Join(ids, " + ")
}

// named is the class with what people do at each place in words.
func (v *visit) named(p *circuit.Problem) *circuit.Problem {
	out := *p
	out.Patients = slices.Clone(p.Patients)
	for j := range out.Patients {
		visits := slices.Clone(out.Patients[j].Visits)
		for n, at := range visits {
			if words := v.visitWords(at); words != "" {
				visits[n].Name = words
			}
		}
		out.Patients[j].Visits = visits
	}
	return &out
}

// clock is seconds from a class's beginning as a time of day.
func (c *classView) clock(s int) string {
	return c.Begins.Add(time.Duration(s) * time.Second).Format("15:04:05")
}

// patientNames are the names of the patients by tag.
func (v *visit) patientNames() (map[string]string, error) {
	all, err := v.desk().Patients(v.ctx(), v.who, true, "")
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, p := range all {
		out[p.Tag] = p.Name
	}
	return out, nil
}

// drawClass is the timetable as a picture with the now-line.
func drawClass(v *visit) error {
	view, err := classOf(v)
	if err != nil {
		return err
	}
	at := view.At
	if !view.Running {
		at = -1
	}
	svg := circuit.Picture(v.named(view.Problem), view.Timetable, view.clock, at)
	v.w.Header().Set("Content-Type", "image/svg+xml")
	v.w.WriteHeader(http.StatusOK)
	_, _ = v.w.Write(svg) // the reader may have gone
	return nil
}

func loadClass(v *visit) error {
	id, err := v.number("id")
	if err != nil {
		return err
	}
	sent, err := v.desk().LoadClass(v.ctx(), v.who, id)
	if err != nil {
		return err
	}
	return v.back(fmt.Sprintf("/classes/%d", id), "Sent to %s. The day says when each station has its plan.", plural(len(sent), "station", "stations"))
}

func lateForClass(v *visit) error {
	return changeClass(v, func(view *classView, tag string) error {
		minutes, err := strconv.Atoi(view.Form.Get("minutes"))
		if err != nil || minutes < 1 || minutes > 240 {
			view.Form.fault("minutes", "Say in whole minutes, from 1 to 240.")
			return nil
		}
		return v.desk().Late(v.ctx(), v.who, view.ID, tag, time.Duration(minutes)*time.Minute)
	})
}

func leftClass(v *visit) error {
	return changeClass(v, func(view *classView, tag string) error { return v.desk().Left(v.ctx(), v.who, view.ID, tag) })
}

// changeClass repairs a class for somebody in it.
func changeClass(v *visit, change func(view *classView, tag string) error) error {
	view, err := classOf(v)
	if err != nil {
		return err
	}
	if view.Form, err = v.sent(); err != nil {
		return err
	}
	tag := view.Form.need("tag", "Choose who it is.")
	if view.Form.ok() {
		if err := change(view, tag); err != nil && !view.Form.takes(err) {
			return err
		}
	}
	if !view.Form.ok() {
		return v.again("class", view.title(), view)
	}
	return v.back(fmt.Sprintf("/classes/%d", view.ID), "The timetable is made anew around %s; nobody at work was moved.", tag)
}

// newClassView is the page that makes a class.
type newClassView struct {
	Day      coach.Day
	Form     *form
	People   []choice
	MayStart []string // those of them whom today's screening lets start
	Places   []newPlace
	Together int // how many can come at most
}

// newPlace is a station that a class may use.
type newPlace struct {
	ID   int64
	Name string
}

// The positions and loads a place may have, with their words on the page.
var (
	placePositions = []choice{{Value: "standing", Label: "standing"}, {Value: "wall", Label: "at a wall"}, {Value: "seated", Label: "seated"}, {Value: "mat", Label: "on the mat"}}
	placeLoads     = []choice{{Value: "dumbbell", Label: "dumbbells"}, {Value: "band", Label: "bands"}}
)

// Positions are a place's choices of position.
func (newPlace) Positions() []choice { return placePositions }

// Loads are a place's choices of load.
func (newPlace) Loads() []choice { return placeLoads }

func showNewClass(v *visit) error {
	view, err := newClassOf(v)
	if err != nil {
		return err
	}
	view.Form = view.begin(v.now)
	view.likeLast(v)
	return v.page("class-new", "Make a class", view)
}

func newClassOf(v *visit) (*newClassView, error) {
	day, err := dayOf(v)
	if err != nil {
		return nil, err
	}
	view := &newClassView{Day: day.Day}
	for _, c := range day.Coming {
		if c.Loadable {
			label := strings.TrimSpace(c.Name + " " + c.Tag)
			if c.Comer.Verdict != protocol.MayStart {
				label += " – " + c.Screened
			} else {
				view.MayStart = append(view.MayStart, c.Tag)
			}
			view.People = append(view.People, choice{Value: c.Tag, Label: label})
		}
	}
	all, err := v.desk().Stations(v.ctx(), v.who)
	if err != nil {
		return nil, err
	}
	for _, st := range all {
		if st.Enrolled != nil && st.Revoked == nil && len(day.homes[st.ID]) == 0 {
			view.Places = append(view.Places, newPlace{st.ID, st.Name})
		}
	}
	return view, nil
}

// begin is the form as it stands before anybody has typed: everybody comes whom
// today's screening lets start, every station is used, in every way, with a mat
// at every second one.
func (n *newClassView) begin(now time.Time) *form {
	f := newForm("begins", now.Truncate(15*time.Minute).Add(15*time.Minute).Format("15:04"), "walk", "15", "warm_up", "4", "cool_down", "4")
	f.Values["tag"] = slices.Clone(n.MayStart)
	for i, p := range n.Places {
		f.Values.Add("place", fmt.Sprint(p.ID))
		f.Values[fmt.Sprintf("positions-%d", p.ID)] = []string{"standing", "wall", "seated", "mat"}[:4-i%2]
		f.Values[fmt.Sprintf("loads-%d", p.ID)] = []string{"dumbbell", "band"}
	}
	return f
}

func addClass(v *visit) error {
	view, err := newClassOf(v)
	if err != nil {
		return err
	}
	if view.Form, err = v.sent(); err != nil {
		return err
	}
	text := view.text()
	if view.Form.ok() {
		c, err := v.desk().AddClass(v.ctx(), v.who, view.Day, text, searchFor)
		if err == nil {
			return v.back(fmt.Sprintf("/classes/%d", c.ID), "The class is made. Nothing is on the stations yet.")
		}
		var faulty desk.Faulty
		switch {
		case errors.As(err, &faulty):
			for _, x := range coach.Errors(faulty.Faults) {
				view.Form.fault("", "%s", v.impossibleWords(x.Message))
			}
		case !view.Form.takes(err):
			return err
		}
	}
	return v.again("class-new", "Make a class", view)
}

// noPlace is how a class says that nobody can host an item.
var noPlace = regexp.MustCompile(`^the class is impossible: (\S+): no place can host item \d+, ([a-z0-9-]+) \(([a-z]+), ([^)]*)\)`)

// impossibleWords says why a class can't be held and what to tick against it.
func (v *visit) impossibleWords(message string) string {
	m := noPlace.FindStringSubmatch(message)
	if m == nil {
		return "This class can't be held: " + strings.TrimPrefix(message, "the class is impossible: ") + "."
	}
	need := ""
	for _, p := range placePositions {
		if p.Value == m[3] {
			need = "“" + p.Label + "”"
		}
	}
	if load, err := coach.ParseLoad(m[4]); err == nil {
		for _, l := range placeLoads {
			if l.Value == string(load.Kind()) {
				need += " and “" + l.Label + "”"
			}
		}
	}
	return fmt.Sprintf("No station chosen can be used for %s’s %s. Tick %s at one station, or leave %s out of this class.", m[1], v.exercise(m[2]), need, m[1])
}

// searchFor is how long a timetable is searched for while somebody waits.
const searchFor = 2 * time.Second

// likeLast fills in what the last class of the last two weeks said of the
// gym.
func (n *newClassView) likeLast(v *visit) {
	for back := range 15 {
		list, err := v.desk().Classes(v.ctx(), v.who, n.Day.AddDays(-back))
		if err != nil {
			return // the form stands as it is without
		}
		if len(list) > 0 {
			n.remember(list[len(list)-1])
			return
		}
	}
}

func (n *newClassView) remember(c store.Class) {
	was, err := readClassText(c.Text)
	if err != nil {
		return // written by another program version; the form stands without
	}
	n.Form.Values.Set("walk", fmt.Sprint(was.Walk))
	n.Form.Values.Set("warm_up", fmt.Sprint(was.WarmUp.Capacity))
	n.Form.Values.Set("cool_down", fmt.Sprint(was.CoolDown.Capacity))
	n.Form.Values.Del("place")
	for _, p := range n.Places {
		at := slices.IndexFunc(was.Place, func(x classPlace) bool { return x.Name == p.Name })
		if at < 0 {
			continue
		}
		n.Form.Values.Add("place", fmt.Sprint(p.ID))
		n.Form.Values[fmt.Sprintf("positions-%d", p.ID)] = was.Place[at].Positions
		n.Form.Values[fmt.Sprintf("loads-%d", p.ID)] = was.Place[at].Loads
	}
}
