package web

import (
	"slices"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/desk/web/chart"
	"evenbell/coach/review"
)

// patientPage is everything about one patient at a glance.
type patientPage struct {
	*desk.Person
	Names    names
	Plan     *desk.Checked // in force
	Draft    *store.Prescription
	Reviewed *desk.Reviewed
	Weeks    chart.Chart
	Visits   []visited      // newest first
	Open     []desk.Pending // proposals nobody has answered
	Can      map[string]bool
}

// mostVisits is how many visits a patient's page lists.
const mostVisits = 8

func showPatient(v *visit) error {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return err
	}
	p := patientPage{Person: who, Names: v.names(), Can: v.can(desk.ChangePatients, desk.ClearHold, desk.WritePlan, desk.SeeAudit, desk.ExportRecord)}
	if who.InForce != nil {
		if _, p.Plan, err = v.desk().Prescription(v.ctx(), v.who, who.InForce.ID); err != nil {
			return err
		}
	}
	p.Draft = newestDraft(who.Prescriptions)
	if p.Reviewed, err = v.desk().Review(v.ctx(), v.who, who.Tag, "", ""); err != nil {
		return err
	}
	p.Weeks = chart.Weeks(sinceBegun(p.Reviewed.Weeks, who))
	p.Visits = v.visits(p.Reviewed)
	p.Visits = p.Visits[:min(len(p.Visits), mostVisits)]
	for _, one := range p.Reviewed.Proposals {
		if one.Decision == nil {
			p.Open = append(p.Open, one)
		}
	}
	return v.page("patient", personTitle(who), p)
}

// History is what happened, oldest first: what was noted, and what the dates of
// the screening say that no note of the same day does.
func (p patientPage) History() []store.PastEvent {
	out := slices.Clone(p.Record.Events)
	s := p.Record.Screening
	for _, e := range []store.PastEvent{{Day: s.Infarction, What: "Heart attack or bypass surgery"}, {Day: s.Stent, What: "Stent or balloon"},
		{Day: s.Sternotomy, What: "Breastbone opened"}, {Day: s.Device, What: "Pacemaker or defibrillator put in"}} {
		noted := slices.ContainsFunc(p.Record.Events, func(x store.PastEvent) bool { return x.Day == e.Day })
		if e.Day != "" && !noted {
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b store.PastEvent) int { return compareDays(a.Day, b.Day) })
	return out
}

// newestDraft is the draft that is newer than anything approved; nil for none.
func newestDraft(all []store.Prescription) *store.Prescription {
	var newest *store.Prescription
	for i, p := range all {
		if newest == nil || p.Version > newest.Version {
			newest = &all[i]
		}
	}
	if newest == nil || newest.Approved != "" || newest.Withdrawn {
		return nil
	}
	return newest
}

// sinceBegun leaves out the weeks before a patient's first plan was approved:
// nobody misses what they were never asked to do.
func sinceBegun(weeks []review.Week, who *desk.Person) []review.Week {
	var first coach.Day
	for _, rx := range who.Prescriptions {
		if day := coach.DayOf(rx.ApprovedAt); rx.Approved != "" && (first == "" || day < first) {
			first = day
		}
	}
	for len(weeks) > 0 && weeks[0].Days == 0 && (first == "" || weeks[0].Monday.AddDays(6) < first) {
		weeks = weeks[1:]
	}
	return weeks
}
