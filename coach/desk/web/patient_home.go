package web

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// homePage is the form of what matters for somebody who exercises at home.
type homePage struct {
	Tag      string
	Form     *form
	Stations []choice
}

// homePage offers every station that is let in, and none.
func (v *visit) homePage(tag string, f *form) (homePage, error) {
	p := homePage{Tag: tag, Form: f, Stations: []choice{{Value: "", Label: "choose"}}}
	all, err := v.desk().Stations(v.ctx(), v.who)
	if err != nil {
		return p, err
	}
	for _, st := range all {
		if st.Enrolled != nil && st.Revoked == nil {
			p.Stations = append(p.Stations, choice{Value: strconv.FormatInt(st.ID, 10), Label: st.Name})
		}
	}
	p.Stations = append(p.Stations, choice{Value: noStation, Label: "none yet: they exercise at the clinic until there is one"})
	return p, nil
}

// noStation is chosen where no station stands in a home.
const noStation = "0"

func showHome(v *visit) error {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return err
	}
	rules, err := v.desk().Protocol(v.ctx())
	if err != nil {
		return err
	}
	f := newForm("was", fmt.Sprint(who.Version), "telephone", v.clinic.Telephone, "between", strconv.Itoa(rules.Int(protocol.DaysBetweenLeast)))
	if h := who.Record.Home; h != nil {
		f = newForm("was", fmt.Sprint(who.Version), "at_home", "yes", "station", strconv.FormatInt(h.Station, 10), "emergency", h.Emergency, "telephone", h.Telephone, "equipment", joinLines(h.Equipment))
		f.Values.Set("between", strconv.Itoa(h.DaysBetween))
		if h.Alone {
			f.Values.Set("alone", "yes")
		}
	}
	p, err := v.homePage(who.Tag, f)
	if err != nil {
		return err
	}
	return v.page("patient-home", "Exercise at home: "+personTitle(who), p)
}

func changeHome(v *visit) error {
	tag := v.r.PathValue("tag")
	f, err := v.sent()
	if err != nil {
		return err
	}
	rules, err := v.desk().Protocol(v.ctx())
	if err != nil {
		return err
	}
	p, err := v.homePage(tag, f)
	if err != nil {
		return err
	}
	home := readHome(f, rules, p.Stations)
	was, err := strconv.ParseInt(f.Get("was"), 10, 64)
	if err != nil {
		return &problem{400, "That could not be read", "Open the page again."}
	}
	if f.ok() {
		_, err := v.desk().ChangePatient(v.ctx(), v.who, tag, was, func(p *store.Patient) error {
			p.Record.Home = home
			return nil
		})
		if err == nil {
			return v.back("/patients/"+tag, "The settings for home are changed.")
		}
		if err := f.refused(err); err != nil {
			return err
		}
	}
	if who, err := v.desk().View(v.ctx(), v.who, tag); err == nil {
		f.Values.Set("was", fmt.Sprint(who.Version))
	}
	return v.again("patient-home", "Exercise at home: "+tag, p)
}

// readHome is nil for somebody who exercises at the clinic alone.
func readHome(f *form, rules *protocol.Protocol, stations []choice) *store.Home {
	if f.Get("at_home") == "" {
		return nil
	}
	h := &store.Home{Alone: f.Get("alone") != ""}
	station := f.need("station", "Choose the station that stands there, or none yet.")
	if !slices.ContainsFunc(stations, func(c choice) bool { return c.Value == station }) {
		f.fault("station", "This station is not let in any more; choose another, or none yet.")
	}
	h.Station, _ = strconv.ParseInt(station, 10, 64) // one of those offered
	h.Emergency = f.need("emergency", "Write what to do there in an emergency.")
	if n := len([]rune(h.Emergency)); n > plan.LongestNote {
		f.fault("emergency", "It is %d letters long; at most %d: it is spoken.", n, plan.LongestNote)
	}
	if h.Telephone = f.need("telephone", "Write whom to ring."); h.Telephone != "" {
		if _, err := coach.ParseTelephone(h.Telephone); err != nil {
			f.fault("telephone", "%s.", capital(err.Error()))
		}
	}
	least, most := rules.Int(protocol.DaysBetweenLeast), rules.Int(protocol.DaysBetweenMost)
	f.need("between", fmt.Sprintf("Write how many days of rest lie between two days with exercise: from %d to %d.", least, most))
	h.DaysBetween = or(f.whole("between", "Days between sessions", least, most))
	for _, l := range splitLines(f.Get("equipment")) {
		if _, err := coach.ParseLoad(l); err != nil {
			f.fault("equipment", "“%s”: %v. One load a line.", l, err)
		}
		h.Equipment = append(h.Equipment, l)
	}
	return h
}

// joinLines and splitLines turn a list into lines to type in, and back.
func joinLines(list []string) string { return strings.Join(list, "\n") }

func splitLines(s string) (out []string) {
	for _, l := range strings.Split(s, "\n") {
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}
