package web

import (
	"net/url"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// mostListed keeps a list quick to read and to send; a search narrows it.
const mostListed = 100

// patientsPage is the list of patients.
type patientsPage struct {
	Form *form
	List []store.Patient
	More int             // that are not listed
	Held map[string]bool // by tag
	Can  map[string]bool
}

// showPatients lists who is in the programme, by name or tag.
func showPatients(v *visit) error {
	q := v.r.URL.Query()
	p := patientsPage{Form: &form{Values: url.Values{"find": q["find"], "all": q["all"]}}, Held: map[string]bool{}, Can: v.can(desk.ChangePatients)}
	all, err := v.desk().Patients(v.ctx(), v.who, q.Get("all") == "", p.Form.Get("find"))
	if err != nil {
		return err
	}
	p.List = all[:min(len(all), mostListed)]
	p.More = len(all) - len(p.List)
	now, err := v.desk().Now(v.ctx(), v.who)
	if err != nil {
		return err
	}
	for _, h := range now.Holds {
		p.Held[h.Tag] = true
	}
	return v.page("patients", "Patients", p)
}
