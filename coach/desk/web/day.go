package web

import (
	"fmt"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
)

// dayRoutes are the pages of the day.
func dayRoutes() []route {
	return []route{
		{"GET /day", desk.SeePatients, showDay},
		{"POST /day/load", desk.LoadPlan, loadDay},
		{"GET /day/load", desk.SeePatients, func(v *visit) error { return v.to("/day") }}, // a page sent and loaded again
		{"POST /day/sound", desk.RunClass, checkSound},
	}
}

// dayView is who comes on a day.
type dayView struct {
	Day              coach.Day
	Before, After    coach.Day
	IsToday          bool
	Coming           []comerView // with a plan for the day, approved or drafted
	Others           []comerView
	Stations         []store.Station    // that are let in
	homes            map[int64][]string // as of the desk's day
	Classes          []classLine
	Sound            *desk.SoundCheck // of today; nil where there was none
	Form             *form
	Results          []loadResult
	LeftOut          []string // who must not come although a station was chosen for them
	Ready, OnStation int      // plans approved, and of these on a station
}

// classLine is a class of the day.
type classLine struct {
	ID     int64
	Begins string
	By     string
}

// loadResult is what became of loading one station.
type loadResult struct {
	Station string
	Tags    string
	Trouble string // empty where it was sent
}

// comerView is one patient of the day.
type comerView struct {
	desk.Comer
	Kind, Words       string // how far the plan is
	Verdict, Screened string
	On                string // the station whose plan has them; empty for none
	Suggested         string // a station for them, while they are on none
	Loadable          bool
}

func showDay(v *visit) error {
	view, err := dayOf(v)
	if err != nil {
		return err
	}
	return v.page("day", dayTitle(view), view)
}

func dayTitle(view dayView) string {
	if view.IsToday {
		return "The day"
	}
	return "The day: " + longDay(view.Day)
}

// longDay is a day with its weekday.
func longDay(d coach.Day) string { return d.Time().Format("Monday 2 January 2006") }

func dayData(v *visit) (any, error) { return dayOf(v) }

// dayOf is the day that the address asks for, today without.
func dayOf(v *visit) (dayView, error) {
	view := dayView{Day: v.today(), Form: newForm()}
	if on := v.r.FormValue("on"); on != "" {
		day, err := coach.ParseDay(on)
		if err != nil {
			return view, &problem{422, "That is no day", "Write it as 2026-03-02."}
		}
		view.Day = day
	}
	view.IsToday = view.Day == v.today()
	view.Before, view.After = view.Day.AddDays(-1), view.Day.AddDays(1)
	day, err := v.desk().Day(v.ctx(), v.who, view.Day)
	if err != nil {
		return view, err
	}
	if view.Sound, err = v.desk().SoundChecked(v.ctx(), v.who, v.today()); err != nil {
		return view, err
	}
	view.homes = day.Homes
	for _, st := range day.Stations {
		if st.Enrolled != nil {
			view.Stations = append(view.Stations, st)
		}
	}
	for _, c := range day.Classes {
		text, err := readClassText(c.Text)
		if err != nil {
			return view, err
		}
		view.Classes = append(view.Classes, classLine{c.ID, text.Begins, c.By})
	}
	for _, c := range day.Comers {
		view.add(comerOf(c))
	}
	return view, v.suggest(&view)
}

// For are the names of the stations that a patient may exercise at: those of
// the clinic and the one in their own home, which comes first.
func (d dayView) For(tag string) (names []string) {
	for _, st := range d.Stations {
		switch there := d.homes[st.ID]; {
		case slices.Contains(there, tag):
			names = slices.Insert(names, 0, st.Name)
		case len(there) == 0:
			names = append(names, st.Name)
		}
	}
	return names
}

// suggest chooses a station for everybody who may start by today's screening
// and has none: the one in their home, else where they exercised last, else the
// one with the fewest people. For all others it has to be chosen by hand. It is
// only chosen on the page; somebody has to load it.
func (v *visit) suggest(d *dayView) error {
	if len(d.Stations) == 0 {
		return nil
	}
	many := map[string]int{}
	for _, c := range d.Coming {
		many[c.On]++
	}
	all, err := v.desk().Stations(v.ctx(), v.who)
	if err != nil {
		return err
	}
	for i, c := range d.Coming {
		if c.On != "" || !c.Loadable || c.Comer.Verdict != protocol.MayStart {
			continue
		}
		last, err := v.desk().Store().Sessions(v.ctx(), store.SessionFilter{Tag: c.Tag, Limit: 1})
		if err != nil {
			return fmt.Errorf("looking for where %s was last: %w", c.Tag, err)
		}
		names := d.For(c.Tag)
		if len(names) == 0 {
			continue
		}
		at := slices.MinFunc(names, func(a, b string) int { return many[a] - many[b] })
		for _, st := range all {
			were := len(last) > 0 && st.ID == last[0].Station && slices.Contains(names, st.Name)
			if were || slices.Contains(d.homes[st.ID], c.Tag) {
				at = st.Name
			}
		}
		many[at]++
		d.Coming[i].Suggested = at
		d.Form.Values.Set("to-"+c.Tag, at)
	}
	return nil
}

func (d *dayView) add(c comerView) {
	if c.State == desk.NoPlan {
		d.Others = append(d.Others, c)
		return
	}
	d.Coming = append(d.Coming, c)
	d.Form.Values.Set("to-"+c.Tag, c.On)
	if c.State != desk.Draft {
		d.Ready++
	}
	if c.On != "" {
		d.OnStation++
	}
}

func comerOf(c desk.Comer) comerView {
	view := comerView{Comer: c, Screened: "not screened today", Verdict: "info"}
	view.Kind, view.Words = planWords(c)
	switch c.Verdict {
	case protocol.MayStart:
		view.Verdict, view.Screened = "good", "may start"
	case protocol.Ask:
		view.Verdict, view.Screened = "warn", "ask the supervisor"
	case protocol.NotToday:
		view.Verdict, view.Screened = "bad", "not today"
	}
	if c.Held { // nothing about them is green
		if c.Verdict == protocol.MayStart {
			view.Verdict, view.Screened = "info", "may start, but held"
		}
		if view.Kind == "good" {
			view.Kind = "info"
		}
	}
	if len(c.Stations) > 0 {
		view.On = c.Stations[0]
	}
	approved := c.Prescription != nil && c.Prescription.Approved != ""
	// Who is done for the day needs a plan only where the station's is overtaken,
	// as it is at home when the next one is approved.
	wanted := c.State != desk.Doing && (c.State != desk.Done || c.Against != "")
	view.Loadable = approved && !c.Held && c.Verdict != protocol.NotToday && wanted
	return view
}

// mustNot says why somebody is on no plan that is loaded now; empty where they
// may be.
func (c comerView) mustNot() string {
	switch {
	case c.Held:
		return "who is held until a supervisor clears it"
	case c.Comer.Verdict == protocol.NotToday:
		return "whose screening says not today"
	}
	return ""
}

// planWords says how far a plan is, as kind and words of a state.
func planWords(c desk.Comer) (kind, words string) {
	switch c.State {
	case desk.Draft:
		return "wait", "draft, to be approved"
	case desk.Approved:
		return "good", "approved"
	case desk.Loaded:
		return "wait", "on its way to the station"
	case desk.OnStation:
		return "good", "on the station"
	case desk.Outdated:
		return "warn", "on the station, which may not coach by it: " + c.Against
	case desk.Doing:
		return "good", "exercising now"
	case desk.Done:
		kind, words = outcomeWords(c.Outcome)
		if c.Against != "" {
			words += "; " + c.Against
		}
		return kind, words
	}
	return "info", "no plan for this day"
}

// outcomeWords is how a session ended, as kind and words of a state.
func outcomeWords(o coach.Outcome) (kind, words string) {
	switch o {
	case coach.Completed:
		return "good", "done"
	case coach.FinishedEarly:
		return "warn", "done, finished early"
	case coach.Stopped:
		return "bad", "stopped"
	case coach.Abandoned:
		return "warn", "left in the middle"
	}
	return "info", strings.ReplaceAll(string(o), "_", " ")
}

// loadDay puts every chosen patient's approved plan onto the chosen station, a
// station at a time. Stations where nothing changes are left alone.
func loadDay(v *visit) error {
	view, err := dayOf(v)
	if err != nil {
		return err
	}
	f, err := v.sent()
	if err != nil {
		return err
	}
	view.Form = f
	plans, err := v.plansOn(view.Day)
	if err != nil {
		return err
	}
	sent := 0
	for _, s := range view.Stations {
		tags, changed := view.chosen(s.Name, plans[s.Name])
		if !changed {
			continue
		}
		r := loadResult{Station: s.Name, Tags: strings.Join(tags, ", ")}
		if _, err := v.loadStation(s.Name, view.Day, tags); err != nil {
			p := explain(err)
			if p == nil {
				return err
			}
			r.Trouble = p.Advice
		} else {
			sent++
		}
		view.Results = append(view.Results, r)
	}
	return v.loaded(view, sent)
}

// loadStation gives a station its plan, or takes it back where nobody is left.
func (v *visit) loadStation(station string, day coach.Day, tags []string) (store.StationPlan, error) {
	if len(tags) == 0 {
		return v.desk().Empty(v.ctx(), v.who, station, day)
	}
	return v.desk().Load(v.ctx(), v.who, station, day, tags...)
}

// loaded tells what loading came to.
func (v *visit) loaded(view dayView, sent int) error {
	at := "/day?on=" + string(view.Day)
	var good []string
	for _, r := range view.Results {
		if r.Trouble != "" {
			return v.again("day", dayTitle(view), view)
		}
		if r.Tags == "" {
			r.Tags = "nobody"
		}
		good = append(good, r.Station+" ("+r.Tags+")")
	}
	without := ""
	if len(view.LeftOut) > 0 {
		without = " Left out: " + strings.Join(view.LeftOut, "; ") + "."
	}
	if sent == 0 {
		return v.back(at, "Every station has what is chosen here already; nothing was sent.%s", without)
	}
	return v.back(at, "Sent to %s. The state says when a station has it.%s", strings.Join(good, ", "), without)
}

// plansOn are the plans in force on a day, by the name of the station.
func (v *visit) plansOn(day coach.Day) (map[string]store.StationPlan, error) {
	plans, err := v.desk().Store().StationPlansOn(v.ctx(), day)
	if err != nil {
		return nil, fmt.Errorf("looking for the plans of %s: %w", day, err)
	}
	all, err := v.desk().Stations(v.ctx(), v.who)
	if err != nil {
		return nil, err
	}
	out := map[string]store.StationPlan{}
	for _, st := range all {
		for _, p := range plans {
			if p.Station == st.ID {
				out[st.Name] = p
			}
		}
	}
	return out, nil
}

// chosen are the tags that are to be on a station, those it has already first
// and in its order, and whether that is anything new to it.
func (d *dayView) chosen(station string, has store.StationPlan) (tags []string, changed bool) {
	want := map[string]bool{}
	for _, c := range d.Coming {
		if c.Prescription == nil || c.Prescription.Approved == "" || d.Form.Get("to-"+c.Tag) != station {
			continue
		}
		if why := c.mustNot(); why != "" {
			d.LeftOut = append(d.LeftOut, c.Tag+", "+why)
			continue
		}
		want[c.Tag] = true
		changed = changed || c.Prescription.ApprovedAt.After(has.SentAt) || c.Refused != "" || c.Against != ""
	}
	for _, t := range has.Tags {
		if want[t] {
			tags = append(tags, t)
			delete(want, t)
		} else {
			changed = true
		}
	}
	for _, c := range d.Coming {
		if want[c.Tag] {
			tags, changed = append(tags, c.Tag), true
		}
	}
	return tags, changed
}

// checkSound notes whether the room heard the alarm of this page.
func checkSound(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	heard := f.Get("heard")
	if !slices.Contains([]string{"yes", "no"}, heard) {
		return &problem{422, "That could not be read", "Say whether the alarm was heard in the room: yes or no."}
	}
	if err := v.desk().CheckSound(v.ctx(), v.who, heard == "yes"); err != nil {
		return err
	}
	if heard == "no" {
		return v.backBad("/day", "Noted: the alarm was not heard. Turn this device up or bring it nearer, then play it again.")
	}
	return v.back("/day", "%s", fmt.Sprintf("Noted: the alarm was heard, %s.", v.now.Format("15:04")))
}
