package web

import (
	"errors"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// staffPage is the accounts, and the form of a new one.
type staffPage struct {
	Form  *form
	Staff []staffPart
	Me    string
}

// staffPart is one account with the form of its changes.
type staffPart struct {
	store.Staff
	N    int
	Form *form
	Open bool
}

// staffPage gathers the page; f is a change of the account that was refused,
// or, with no name, a new account.
func (v *visit) staffPage(f *form, name string) (staffPage, error) {
	all, err := v.desk().Staff(v.ctx(), v.who)
	if err != nil {
		return staffPage{}, err
	}
	p := staffPage{Form: newForm("role", "assistant"), Me: v.who.Name}
	if f != nil && name == "" {
		p.Form = f
	}
	for i, m := range all {
		part := staffPart{Staff: m, N: i, Form: newForm("role", string(m.Role))}
		if f != nil && m.Name == name {
			part.Form, part.Open = f, true
		}
		p.Staff = append(p.Staff, part)
	}
	return p, nil
}

func showStaff(v *visit) error {
	p, err := v.staffPage(nil, "")
	if err != nil {
		return err
	}
	return v.page("clinic-staff", "Staff", p)
}

func addStaff(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	name := f.need("name", "Type the name by which this person logs in and approves.")
	if f.ok() {
		m, err := v.desk().AddStaff(v.ctx(), v.who, name, store.Role(f.Get("role")), f.value("password"))
		if err == nil {
			return v.back("/clinic/staff", "%s can log in now, as %s.", m.Name, m.Role)
		}
		if err := f.refused(err); err != nil {
			return err
		}
	}
	p, err := v.staffPage(f, "")
	if err != nil {
		return err
	}
	return v.again("clinic-staff", "Staff", p)
}

// changeStaff does to an account what the button says.
func changeStaff(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	name, words := f.Get("of"), ""
	d, ctx := v.desk(), v.ctx()
	switch f.Get("do") {
	case "role":
		err, words = d.SetRole(ctx, v.who, name, store.Role(f.Get("role"))), name+" is "+f.Get("role")+" now, and has to log in again."
	case "password":
		err, words = d.SetPassword(ctx, v.who, name, f.value("password")), name+" has a new password, and has to log in again."
	case "disable":
		err, words = d.SetDisabled(ctx, v.who, name, true), name+" can't log in any more."
	case "enable":
		err, words = d.SetDisabled(ctx, v.who, name, false), name+" can log in again."
	default:
		return missing("change")
	}
	if err == nil {
		return v.back("/clinic/staff", "%s", words)
	}
	var r desk.Refusal
	if !errors.As(err, &r) {
		return err
	}
	f.fault(f.Get("do"), "%s", capital(r.Message))
	p, err := v.staffPage(f, name)
	if err != nil {
		return err
	}
	return v.again("clinic-staff", "Staff", p)
}
