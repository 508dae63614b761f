package web

import (
	"fmt"

	"evenbell/coach/desk"
)

// holdForm is the form by which staff hold a patient for what they were told.
type holdForm struct {
	Tag      string
	Stations []choice
	Form     *form
}

func (v *visit) holdForm(f *form) (holdForm, string, error) {
	who, err := v.desk().View(v.ctx(), v.who, v.r.PathValue("tag"))
	if err != nil {
		return holdForm{}, "", err
	}
	now, err := v.desk().Now(v.ctx(), v.who)
	if err != nil {
		return holdForm{}, "", err
	}
	page := holdForm{Tag: who.Tag, Form: f, Stations: []choice{{Value: "", Label: "none, or not known"}}}
	for _, st := range now.Stations {
		page.Stations = append(page.Stations, choice{Value: st.Name, Label: st.Name})
	}
	return page, "Hold " + personTitle(who), nil
}

func showHoldForm(v *visit) error {
	page, title, err := v.holdForm(newForm())
	if err != nil {
		return err
	}
	return v.page("patient-hold", title, page)
}

func holdPatient(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	why := f.need("why", "Write what was felt or seen, in a few words.")
	page, title, err := v.holdForm(f)
	if err != nil {
		return err
	}
	if f.ok() {
		h, err := v.desk().HoldPatient(v.ctx(), v.who, page.Tag, f.Get("station"), why)
		if err == nil {
			to := "/now"
			if v.who.May(desk.ClearHold) {
				to = fmt.Sprintf("/holds/%d", h.ID)
			}
			return v.back(to, "%s is held on every station.", page.Tag)
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.again("patient-hold", title, page)
}
