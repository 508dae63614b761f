package web

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"evenbell/coach/catalogue"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// nowRoutes are the pages of who needs somebody.
func nowRoutes() []route {
	return []route{
		{"GET /now", desk.SeeNow, showNow},
		{"GET /attentions/{id}", desk.SeeNow, showAttention},
		{"POST /attentions/{id}/shown", desk.SeeNow, attentionShown},
		{"POST /attentions/{id}/acknowledge", desk.Acknowledge, acknowledge},
		{"POST /attentions/{id}/going", desk.Acknowledge, going},
		{"POST /attentions/{id}/close", desk.ClosePlace, closeAttention},
		{"POST /attentions/{id}/release", desk.ReleaseStation, releaseStation},
		{"POST /holds/{id}/clear", desk.ClearHold, clearHeld},
		{"POST /holds/{id}/telephone", desk.ClearHold, telephoneCode},
		{"GET /holds/{id}", desk.ClearHold, showHold},
	}
}

// nowView is who needs somebody, and what goes on.
type nowView struct {
	Now    *desk.Now
	Needs  []needView
	Places []placeView
	Unsent []placeView // stations with entries the desk does not have yet
	Who    desk.Actor
	Holds  []store.Hold
}

func showNow(v *visit) error {
	view, err := nowData(v)
	if err != nil {
		return err
	}
	return v.page("now", "Who needs me now", view)
}

func nowData(v *visit) (any, error) {
	now, err := v.desk().Now(v.ctx(), v.who)
	if err != nil {
		return nil, err
	}
	view := nowView{Now: now, Who: v.who, Holds: now.Holds}
	stations := map[int64]desk.StationNow{}
	for _, st := range now.Stations {
		stations[st.ID] = st
		p := v.place(st)
		view.Places = append(view.Places, p)
		// A few entries are always on their way; only what stays is news.
		if st.Unsent > unsentMany || st.Unsent > 0 && st.Silent != nil {
			view.Unsent = append(view.Unsent, p)
		}
	}
	for _, n := range now.Needs {
		view.Needs = append(view.Needs, v.need(n, now.Holds, stations[n.Station]))
	}
	// By name, so that a card stays where it was; who needs somebody stands above.
	slices.SortStableFunc(view.Places, func(a, b placeView) int { return cmp.Compare(a.Name, b.Name) })
	return view, nil
}

// unsentMany is how many entries of a station that can be heard may be on their
// way before a page says so.
const unsentMany = 20

// needView is one attention as its card shows it.
type needView struct {
	desk.Need
	What string
	// More is what more is known, and MoreName what that is.
	MoreName, More string
	Place          string
	Grave          bool // somebody may be unwell
	Seen           bool
	Locked         bool        // the station is still stopped
	Logged         bool        // the log of its session has come in
	Hold           *store.Hold // that came of it, or that its tag is under
	Steps          []step
	Who            desk.Actor
	// Emergency is what everybody here is to do, where somebody may be unwell.
	Emergency string
}

// step is one thing that happened with an attention.
type step struct {
	What string
	At   time.Time
}

func (v *visit) need(n desk.Need, holds []store.Hold, st desk.StationNow) needView {
	view := needView{Need: n, What: needWords(n), Place: st.Station.Place, Seen: n.Acknowledged != nil, Locked: st.Locked, Who: v.who, Steps: steps(n.Attention)}
	if view.Grave = grave(n.Reason); view.Grave {
		view.Emergency = v.clinic.Emergency
	}
	view.MoreName, view.More = more(n.Attention)
	for _, h := range holds {
		if h.Attention == n.ID || view.Hold == nil && n.Tag != "" && h.Tag == n.Tag {
			view.Hold = &h
		}
	}
	return view
}

// grave reports whether somebody may be unwell.
func grave(r store.Reason) bool {
	return r == store.StopPressed || r == store.NotWell || r == store.ClosingSymptom || r == store.NoAnswer
}

// steps are what happened with an attention so far, in order.
func steps(a store.Attention) []step {
	out := []step{}
	add := func(at *time.Time, what string) {
		if at != nil {
			out = append(out, step{what, *at})
		}
	}
	raised := a.Raised
	what := "It happened"
	if a.Within > time.Second {
		what = "It happened, give or take " + ago(a.Within)
	}
	if !raised.IsZero() {
		out = append(out, step{what, raised})
	}
	if !a.Delivered.IsZero() {
		out = append(out, step{"The desk heard of it", a.Delivered})
	}
	add(a.Shown, "First on a page")
	add(a.Acknowledged, "Seen by "+a.AcknowledgedBy)
	add(a.Going, a.GoingBy+" is going")
	add(a.Told, "The station said that help is coming")
	add(a.Closed, "Closed by "+a.ClosedBy)
	slices.SortStableFunc(out, func(a, b step) int { return a.At.Compare(b.At) })
	return out
}

// placeView is one station as its card shows it.
type placeView struct {
	desk.StationNow
	Kind     string // of state, as the template "state" takes it
	Words    string // of that state
	Exercise string
	Phase    string
	Until    time.Time // of a rest; zero outside one
	Waits    string    // for what it waits
}

// place puts a station's state in words.
func (v *visit) place(st desk.StationNow) placeView {
	p := placeView{StationNow: st, Phase: phaseWords(st.Place.Phase)}
	if st.Place.Exercise != "" {
		p.Exercise = v.exercise(st.Place.Exercise)
	}
	if s := st.Said; s != nil && s.Session != nil {
		p.Waits = waitWords(s.Session.Waiting)
		if s.Session.RestS > 0 && !st.Heard.IsZero() {
			p.Until = st.Heard.Add(time.Duration(s.Session.RestS) * time.Second)
		}
	}
	switch {
	case st.Locked:
		p.Kind, p.Words = "bad", "Stopped"
	case st.Silent != nil && st.Seen == nil && st.Enrolled != nil:
		p.Kind, p.Words = "off", "Not heard yet"
	case st.Silent != nil && st.Tag != "":
		p.Kind, p.Words = "bad", "Silent"
	case st.Silent != nil:
		p.Kind, p.Words = "off", "Silent"
	case st.Waiting != nil:
		p.Kind, p.Words = "warn", "Waiting"
	case st.Tag != "":
		p.Kind, p.Words = "good", "Exercising"
	case st.Enrolled == nil:
		p.Kind, p.Words = "info", "Not enrolled yet"
	default:
		p.Kind, p.Words = "info", "Free"
	}
	return p
}

// number is the number that stands in the address.
func (v *visit) number(name string) (int64, error) {
	id, err := strconv.ParseInt(v.r.PathValue(name), 10, 64)
	if err != nil || id < 1 {
		return 0, missing("page")
	}
	return id, nil
}

// attentionShown notes that the attention stands on a page in front of
// somebody; the page itself says so.
func attentionShown(v *visit) error {
	id, err := v.number("id")
	if err != nil {
		return err
	}
	if err := v.desk().Shown(v.ctx(), v.who, id); err != nil {
		return err
	}
	v.w.WriteHeader(204)
	return nil
}

func acknowledge(v *visit) error {
	id, err := v.number("id")
	if err != nil {
		return err
	}
	a, err := v.desk().Acknowledge(v.ctx(), v.who, id)
	if err != nil {
		return err
	}
	if a.AcknowledgedBy != v.who.Name {
		return v.back(nowAt(id), "%s had seen it before you.", a.AcknowledgedBy)
	}
	return v.back(nowAt(id), "Noted: you have seen it. The alarm is quiet; nobody is on the way yet.")
}

func going(v *visit) error {
	id, err := v.number("id")
	if err != nil {
		return err
	}
	a, err := v.desk().Going(v.ctx(), v.who, id)
	if err != nil {
		return err
	}
	if a.GoingBy != v.who.Name {
		return v.back(nowAt(id), "%s was on the way before you.", a.GoingBy)
	}
	return v.back(nowAt(id), "Noted: you are going. The station tells them that help is coming.")
}

func nowAt(id int64) string { return fmt.Sprintf("/now#need-%d", id) }

// exercise is an exercise's name, the clinic's own among them; one nobody knows
// any more has its id for a name.
func (v *visit) exercise(id string) string {
	for _, e := range v.clinic.Exercises {
		if e.ID == id {
			return e.Name
		}
	}
	if e, ok := catalogue.Find(id); ok {
		return e.Name
	}
	return id
}
