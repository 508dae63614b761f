package web

import (
	"fmt"
	"slices"
	"strconv"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/screening"
)

// conditionLine is one condition that is asked beforehand, on the page.
type conditionLine struct {
	protocol.Condition
	Name       string // of its field
	Acceptable bool   // a supervisor may accept it
}

// recordPage is the form of a patient's record. Tag is empty for a new one.
type recordPage struct {
	Tag        string
	Form       *form
	Conditions []conditionLine
	Events     []int // rows
	Cautions   []int
	Stays      []int
	Kinds      []choice
	Sides      []choice
	Calls      []choice
}

func (v *visit) recordPage(tag string, f *form) (recordPage, error) {
	p := recordPage{Tag: tag, Form: f,
		Events: f.spare("event", 2, "day", "what"), Cautions: f.spare("pre", 2, "kind"), Stays: f.spare("stay", 1, "day"),
		Kinds: []choice{{Value: "", Label: "none"}}, Calls: []choice{{Value: "", Label: "the tag"}},
		Sides: []choice{{Value: "", Label: "no side, or both"}, {Value: "left", Label: "left"}, {Value: "right", Label: "right"}}}
	for _, k := range coach.PrecautionKinds {
		p.Kinds = append(p.Kinds, choice{Value: string(k), Label: precautionName(k)})
	}
	p.Calls = append(p.Calls, callWordChoices()...)
	rules, err := v.desk().Protocol(v.ctx())
	if err != nil {
		return p, err
	}
	for _, k := range screening.Beforehand {
		c := rules.Condition(k)
		p.Conditions = append(p.Conditions, conditionLine{c, "condition." + string(k), c.Verdict == protocol.Ask})
	}
	return p, nil
}

func newPatient(v *visit) error {
	tag, err := v.desk().FreeTag(v.ctx())
	if err != nil {
		return err
	}
	p, err := v.recordPage("", newForm("tag", tag, "guide", string(coach.GuideBoth)))
	if err != nil {
		return err
	}
	return v.page("patient-record", "A new patient", p)
}

func addPatient(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	who := store.Patient{Tag: f.Get("tag")}
	f.need("name", "Type the patient’s name. It stays on this desk; stations know the tag alone.")
	readRecord(f, &who)
	if f.ok() {
		if who, err = v.desk().AddPatient(v.ctx(), v.who, who); err == nil {
			return v.back("/patients/"+who.Tag, "%s is added, with the tag %s.", who.Name, who.Tag)
		}
		if err := f.refused(err); err != nil {
			return err
		}
	}
	p, err := v.recordPage("", f)
	if err != nil {
		return err
	}
	return v.again("patient-record", "A new patient", p)
}

func showRecord(v *visit) error {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return err
	}
	p, err := v.recordPage(who.Tag, writeRecord(who.Patient))
	if err != nil {
		return err
	}
	return v.page("patient-record", "Record of "+personTitle(who), p)
}

func changeRecord(v *visit) error {
	tag := v.r.PathValue("tag")
	f, err := v.sent()
	if err != nil {
		return err
	}
	was, err := strconv.ParseInt(f.Get("was"), 10, 64)
	if err != nil {
		return &problem{400, "That could not be read", "Open the record again."}
	}
	readRecord(f, &store.Patient{}) // for its faults alone
	if f.ok() {
		_, err := v.desk().ChangePatient(v.ctx(), v.who, tag, was, func(p *store.Patient) error {
			readRecord(f, p)
			return nil
		})
		if err == nil {
			return v.back("/patients/"+tag, "The record is changed.")
		}
		if err := f.refused(err); err != nil {
			return err
		}
	}
	// What was typed goes on from the record as it is by now.
	if who, err := v.desk().View(v.ctx(), v.who, tag); err == nil {
		f.Values.Set("was", fmt.Sprint(who.Version))
	}
	p, err := v.recordPage(tag, f)
	if err != nil {
		return err
	}
	return v.again("patient-record", "Record of "+tag, p)
}

func callWordChoices() (out []choice) {
	for _, w := range plan.CallWords {
		out = append(out, choice{Value: w, Label: w})
	}
	return out
}

// writeRecord is a record as a form.
func writeRecord(p store.Patient) *form {
	r, s := p.Record, p.Record.Screening
	f := newForm("was", fmt.Sprint(p.Version), "tag", p.Tag, "name", p.Name, "born", string(r.Born), "left", string(p.Left),
		"call", r.Call, "guide", string(r.Guide), "notes", r.Notes, "infarction", string(s.Infarction), "stent", string(s.Stent),
		"sternotomy", string(s.Sternotomy), "device", string(s.Device), "device_side", string(s.DeviceSide))
	put := func(name, value string) {
		if value != "" && value != "0" {
			f.Values.Set(name, value)
		}
	}
	put("wanted", strconv.Itoa(r.Wanted))
	put("ceiling_reps", strconv.Itoa(r.Ceiling.Reps))
	put("ceiling_sets", strconv.Itoa(r.Ceiling.Sets))
	if r.Ceiling.Load != (coach.Load{}) {
		put("ceiling_load", r.Ceiling.Load.String())
	}
	if s.EnduranceWeeks != nil {
		f.Values.Set("endurance", strconv.Itoa(*s.EnduranceWeeks))
	}
	if s.METs != nil {
		f.Values.Set("mets", strconv.FormatFloat(*s.METs, 'f', -1, 64))
	}
	if s.HeartFailure {
		f.Values.Add("also", "heart_failure")
	}
	if s.SprayOrdered {
		f.Values.Add("also", "spray")
	}
	for _, k := range s.Absent {
		f.Values.Set("condition."+string(k), "no")
	}
	for _, k := range s.Conditions {
		f.Values.Set("condition."+string(k), "yes")
	}
	for _, k := range s.Accepted {
		f.Values.Set("condition."+string(k), "accepted")
	}
	writeRows(r, put)
	return f
}

// writeRows puts the lists of a record into their rows.
func writeRows(r store.Record, put func(name, value string)) {
	for i, e := range r.Events {
		put(fmt.Sprintf("event.%d.day", i), string(e.Day))
		put(fmt.Sprintf("event.%d.what", i), e.What)
	}
	for i, c := range r.Precautions {
		put(fmt.Sprintf("pre.%d.kind", i), string(c.Kind))
		put(fmt.Sprintf("pre.%d.since", i), string(c.Since))
		put(fmt.Sprintf("pre.%d.until", i), string(c.Until))
		if c.Side != coach.Both {
			put(fmt.Sprintf("pre.%d.side", i), string(c.Side))
		}
	}
	for i, d := range r.Admissions {
		put(fmt.Sprintf("stay.%d.day", i), string(d))
	}
}

// readRecord takes a form into a record, with a fault at every field that
// cannot be read. Home is another page's.
func readRecord(f *form, p *store.Patient) {
	p.Name, p.Left = f.Get("name"), f.day("left")
	r := &p.Record
	r.Born, r.Call, r.Guide, r.Notes = f.day("born"), f.Get("call"), coach.Guide(f.Get("guide")), f.Get("notes")
	r.Wanted = or(f.whole("wanted", "Sessions a week", 0, 14))
	r.Ceiling.Load = f.loadIn("ceiling_load")
	r.Ceiling.Reps = or(f.whole("ceiling_reps", "Most repetitions", 0, 100))
	r.Ceiling.Sets = or(f.whole("ceiling_sets", "Most sets", 0, 20))
	s := &r.Screening
	s.Infarction, s.Stent, s.Sternotomy, s.Device = f.day("infarction"), f.day("stent"), f.day("sternotomy"), f.day("device")
	s.DeviceSide = coach.Side(f.Get("device_side"))
	s.EnduranceWeeks = f.whole("endurance", "Weeks of endurance work", 0, 1000)
	s.METs = f.number("mets", "Exercise capacity")
	s.HeartFailure, s.SprayOrdered = f.Has("also", "heart_failure"), f.Has("also", "spray")
	readConditions(f, s)
	r.Events, r.Precautions, r.Admissions = readEvents(f), readPrecautions(f), readStays(f)
}

// readConditions takes what was asked beforehand; one without an answer was not
// asked. A device with a day is there, whatever nobody was asked.
func readConditions(f *form, s *screening.Patient) {
	s.Conditions, s.Absent, s.Accepted = nil, nil, nil
	for _, k := range screening.Beforehand {
		name := "condition." + string(k)
		answer := f.Get(name)
		if k == protocol.Device && s.Device != "" {
			switch answer {
			case "":
				answer = "yes"
			case "no":
				f.fault(name, "A day is given on which a pacemaker or defibrillator was put in, and here it says that there is none. Put one of the two right.")
			}
		}
		switch answer {
		case "no":
			s.Absent = append(s.Absent, k)
		case "accepted":
			s.Accepted = append(s.Accepted, k)
			fallthrough
		case "yes":
			s.Conditions = append(s.Conditions, k)
		}
	}
}

func readEvents(f *form) (out []store.PastEvent) {
	for _, i := range f.rows("event", "day", "what") {
		day, what := fmt.Sprintf("event.%d.day", i), fmt.Sprintf("event.%d.what", i)
		e := store.PastEvent{Day: f.day(day), What: f.Get(what)}
		if e.What == "" {
			f.fault(what, "Say what happened on this day, or empty the line.")
		}
		out = append(out, e)
	}
	slices.SortStableFunc(out, func(a, b store.PastEvent) int { return compareDays(a.Day, b.Day) })
	return out
}

func readPrecautions(f *form) (out []coach.Precaution) {
	for _, i := range f.rows("pre", "kind") {
		at := func(key string) string { return fmt.Sprintf("pre.%d.%s", i, key) }
		p := coach.Precaution{Kind: coach.PrecautionKind(f.Get(at("kind"))), Side: coach.Side(f.Get(at("side"))), Since: f.day(at("since")), Until: f.day(at("until"))}
		if !slices.Contains(coach.PrecautionKinds, p.Kind) {
			f.fault(at("kind"), "“%s” is no precaution; choose one of the list.", p.Kind)
		}
		if p.Until != "" && p.Since != "" && p.Until < p.Since {
			f.fault(at("until"), "The last day lies before the first.")
		}
		out = append(out, p)
	}
	return out
}

func readStays(f *form) (out []coach.Day) {
	for _, i := range f.rows("stay", "day") {
		out = append(out, f.day(fmt.Sprintf("stay.%d.day", i)))
	}
	slices.Sort(out)
	return out
}

func compareDays(a, b coach.Day) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// or is what stands there, or zero.
func or(n *int) int {
	if n == nil {
		return 0
	}
	return *n
}
