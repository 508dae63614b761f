package web

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
)

// planPage is one version of what a patient is to do.
type planPage struct {
	store.Prescription
	Person   *desk.Person
	Names    names
	Checked  *desk.Checked
	Days     *plan.Plan    // the plan; nil with faults
	Patient  *plan.Patient // the one in it
	Errors   []coach.Fault
	Warnings []coach.Fault
	Past     bool     // its last day is
	Since    []string // what differs from the version approved before
	Before   *store.Prescription
	Sound    bool // items can be listened to
	Can      map[string]bool
	Form     *form // of the approval
}

func (v *visit) planPage() (*planPage, error) {
	id, err := strconv.ParseInt(v.r.PathValue("id"), 10, 64)
	if err != nil {
		return nil, missing("plan")
	}
	rx, checked, err := v.desk().Prescription(v.ctx(), v.who, id)
	if err != nil {
		return nil, err
	}
	owner, err := v.desk().Store().Patient(v.ctx(), rx.Patient)
	if err != nil {
		return nil, fmt.Errorf("finding whose plan %d is: %w", id, err)
	}
	who, err := v.desk().View(v.ctx(), v.who, owner.Tag)
	if err != nil {
		return nil, err
	}
	p := &planPage{Prescription: rx, Person: who, Names: v.names(), Checked: checked, Days: checked.Plan, Form: newForm(),
		Sound: v.site.Sound != nil, Can: v.can(desk.WritePlan, desk.ApprovePlan)}
	for _, f := range checked.Faults {
		if f.Warning {
			p.Warnings = append(p.Warnings, f)
		} else {
			p.Errors = append(p.Errors, f)
		}
	}
	if p.Days != nil {
		p.Patient = &p.Days.Patients[0]
		p.Past = p.Days.LastDay() < v.today()
		p.Names.own = append(slices.Clone(p.Days.Own), p.Names.own...) // as they were when it was written
		return p, v.since(p)
	}
	return p, nil
}

// since says how the version differs from the one approved before it.
func (v *visit) since(p *planPage) error {
	all := slices.Clone(p.Person.Prescriptions)
	sortVersions(all)
	for _, rx := range all {
		if rx.Version < p.Version && rx.Approved != "" {
			p.Before = &rx
			break
		}
	}
	if p.Before == nil {
		return nil
	}
	_, before, err := v.desk().Prescription(v.ctx(), v.who, p.Before.ID)
	if err != nil || before.Plan == nil {
		return err
	}
	p.Since = p.Names.differences(before.Plan, p.Days)
	return nil
}

// sortVersions puts the newest version first.
func sortVersions(all []store.Prescription) {
	slices.SortFunc(all, func(a, b store.Prescription) int { return cmp.Compare(b.Version, a.Version) })
}

// State is what kind of version it is.
func (p *planPage) State() string {
	switch {
	case p.Withdrawn && p.Approved != "":
		return "replaced or taken back"
	case p.Withdrawn:
		return "thrown away"
	case p.Approved != "":
		return "approved"
	}
	return "draft"
}

// StateKind is how its state is drawn.
func (p *planPage) StateKind() string {
	return map[string]string{"approved": "good", "draft": "info"}[p.State()]
}

// Draft reports that it can still be approved or thrown away.
func (p *planPage) Draft() bool { return p.Approved == "" && !p.Withdrawn }

func showPlan(v *visit) error {
	p, err := v.planPage()
	if err != nil {
		return err
	}
	return v.page("plan", p.title(), p)
}

func (p *planPage) title() string {
	return fmt.Sprintf("Plan of %s, version %d", personTitle(p.Person), p.Version)
}

// showApproval shows exactly what would be approved, before anybody does.
func showApproval(v *visit) error {
	p, err := v.planPage()
	if err != nil {
		return err
	}
	if !p.Draft() || p.Days == nil {
		return v.to(fmt.Sprintf("/plans/%d", p.ID))
	}
	return v.page("plan-approve", "Approve: "+p.title(), p)
}

func approvePlan(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	p, err := v.planPage()
	if err != nil {
		return err
	}
	if f.Get("read") == "" {
		f.fault("read", "Say that you have looked at what is above.")
		p.Form = f
		return v.again("plan-approve", "Approve: "+p.title(), p)
	}
	rx, err := v.desk().Approve(v.ctx(), v.who, p.ID, f.Get("seen"))
	if err != nil {
		if err := f.refused(err); err != nil {
			return err
		}
		p.Form = f
		return v.again("plan-approve", "Approve: "+p.title(), p)
	}
	return v.backUndo(fmt.Sprintf("/plans/%d", rx.ID), fmt.Sprintf("/plans/%d/withdraw", rx.ID), map[string]string{"why": "undone"},
		"Approved by %s. No station has it yet: load it on the page of the day.", v.who.Name)
}

func withdrawPlan(v *visit) error {
	id, err := strconv.ParseInt(v.r.PathValue("id"), 10, 64)
	if err != nil {
		return missing("plan")
	}
	if err := v.desk().Withdraw(v.ctx(), v.who, id); err != nil {
		return err
	}
	return v.back(fmt.Sprintf("/plans/%d", id), "Taken back. What a station has by now stays there until another plan is loaded.")
}
