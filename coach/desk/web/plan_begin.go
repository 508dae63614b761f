package web

import (
	"evenbell/coach/catalogue"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// beginPage asks what a plan is to begin from.
type beginPage struct {
	*desk.Person
	Names      names
	Draft      *store.Prescription
	Last       *store.Prescription // newest that was approved
	Programmes []catalogue.Programme
	Versions   []store.Prescription // newest first
}

func beginPlan(v *visit) error {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return err
	}
	p := beginPage{Person: who, Names: v.names(), Draft: newestDraft(who.Prescriptions), Programmes: catalogue.Programmes()}
	for i := len(who.Prescriptions) - 1; i >= 0; i-- {
		p.Versions = append(p.Versions, who.Prescriptions[i])
	}
	sortVersions(p.Versions)
	for i := range p.Versions {
		if p.Versions[i].Approved != "" && p.Last == nil {
			p.Last = &p.Versions[i]
		}
	}
	return v.page("plan-begin", "A plan for "+personTitle(who), p)
}
