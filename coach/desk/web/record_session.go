package web

import (
	"fmt"

	"evenbell/coach/desk"
	"evenbell/coach/desk/gather"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
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
		p.Note, p.Person = record.SessionNote(in), in.Patient
		if part, ok := got.Review.Pace(in.Protocol); ok {
			p.Pace = fmt.Sprintf("%d %%", int(100*part+0.5))
		}
	}
	return v.page("session", p.title(), p)
}

func (p sessionPage) title() string {
	who := p.Tag
	if p.Person.Name != "" {
		who = p.Person.Name
	}
	return "Session of " + who
}

// sessionsPage is all sessions of one patient, newest first.
type sessionsPage struct {
	Tag      string
	Person   *desk.Person
	Sessions []*review.Session
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
	return v.page("sessions", "Sessions of "+personTitle(who), sessionsPage{who.Tag, who, newestFirst(got.Log.Sessions)})
}
