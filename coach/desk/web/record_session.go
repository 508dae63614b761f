package web

import (
	"cmp"

	"evenbell/coach/desk"
	"evenbell/coach/desk/gather"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
)

// gather is who brings together what records are made of, as the person asking.
func (v *visit) gather() gather.From { return gather.From{Desk: v.desk(), Who: v.who} }

// sessionPage is one session: in sentences, set by set, and drawn.
type sessionPage struct {
	*desk.SessionView
	Names   names
	Person  store.Patient
	Note    record.Note
	Pace    string // kept, of those that taps tell of
	Picture bool
	Can     map[string]bool
}

func showSession(v *visit) error {
	got, err := v.desk().Session(v.ctx(), v.who, v.r.PathValue("id"))
	if err != nil {
		return err
	}
	p := sessionPage{SessionView: got, Names: v.names(), Can: v.can(desk.ExportData, desk.ClosePlace, desk.SeePatients), Picture: got.Review != nil}
	if got.Review != nil {
		in, err := v.gather().Note(v.ctx(), got.ID)
		if err != nil {
			return err
		}
		p.Note, p.Person = record.NoteOf(in), in.Patient
		if part, ok := got.Review.Pace(in.Protocol); ok {
			p.Pace = percentWords(part)
		}
	}
	return v.page("session", p.title(), p)
}

func (p sessionPage) title() string { return "Session of " + cmp.Or(p.Person.Name, p.Tag) }

// Joined is the visit that the session is a part of; nil where it is all of it.
func (p sessionPage) Joined() *visited {
	if p.Visit == nil || !p.Visit.Joined() {
		return nil
	}
	return &visited{Visit: *p.Visit, places: p.Places}
}

// sessionsPage is all visits of one patient, newest first.
type sessionsPage struct {
	Tag    string
	Person *desk.Person
	Visits []visited
}

func showSessions(v *visit) error {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return err
	}
	got, err := v.desk().Review(v.ctx(), v.who, who.Tag, "0001-01-01", "")
	if err != nil {
		return err
	}
	return v.page("sessions", "Sessions of "+personTitle(who), sessionsPage{who.Tag, who, v.visits(got)})
}
