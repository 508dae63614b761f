package web

import (
	"errors"
	"fmt"
	"net/http"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// attentionView is the page of one attention: what was done, how it ended, and
// what frees the place and the person again.
type attentionView struct {
	Need needView
	Form *form
}

func showAttention(v *visit) error {
	view, err := v.attention()
	if err != nil {
		return err
	}
	view.Form = newForm("done", view.Need.Done, "ended", view.Need.Ended)
	return v.page("attention", view.Need.What, view)
}

func attentionData(v *visit) (any, error) {
	v.pathNumber("id")
	return v.attention()
}

// attention is the one in the address.
func (v *visit) attention() (attentionView, error) {
	id, err := v.number("id")
	if err != nil {
		return attentionView{}, err
	}
	n, err := v.desk().Attention(v.ctx(), v.who, id)
	if err != nil {
		return attentionView{}, err
	}
	now, err := v.desk().Now(v.ctx(), v.who)
	if err != nil {
		return attentionView{}, err
	}
	var at desk.StationNow
	for _, st := range now.Stations {
		if st.ID == n.Station {
			at = st
		}
	}
	view := attentionView{Need: v.need(*n, now.Holds, at)}
	view.Need.Logged, err = v.logged(n.Session)
	return view, err
}

// logged reports whether the log of a session has come in: a stop comes ahead
// of it.
func (v *visit) logged(session string) (bool, error) {
	if session == "" {
		return false, nil
	}
	_, err := v.desk().Store().Session(v.ctx(), session)
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	return err == nil, err
}

func closeAttention(v *visit) error {
	view, err := v.attention()
	if err != nil {
		return err
	}
	if view.Form, err = v.sent(); err != nil {
		return err
	}
	f := view.Form
	if view.Need.Grave {
		f.need("done", "Say what was done, such as readings taken, who was called, what was given.")
		f.need("ended", "Say how it ended, such as sat ten minutes and went home well.")
	}
	if f.ok() {
		a, err := v.desk().Close(v.ctx(), v.who, view.Need.ID, f.Get("done"), f.Get("ended"))
		if err == nil {
			return v.back("/now", "Closed: %s.", needWords(desk.Need{Attention: a, StationName: view.Need.StationName}))
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.again("attention", view.Need.What, view)
}

// releaseStation frees the place that a stop has locked, for others; who
// pressed it stays held.
func releaseStation(v *visit) error {
	view, err := v.attention()
	if err != nil {
		return err
	}
	f, err := v.sent()
	if err != nil {
		return err
	}
	view.Form = f
	f.need("looked", "Tick that somebody has looked after the person and the place is free.")
	if f.ok() {
		err := v.desk().Release(v.ctx(), v.who, view.Need.ID)
		if err == nil {
			return v.freed(view)
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.again("attention", view.Need.What, view)
}

// freed says that a place is free again. What was typed of how it ended is
// still on the page then.
func (v *visit) freed(view attentionView) error {
	words := fmt.Sprintf("%s is free again. %s stays held until a supervisor clears it.", view.Need.StationName, view.Need.Tag)
	if view.Form.Get("done") == "" && view.Form.Get("ended") == "" {
		return v.back("/now", "%s", words)
	}
	again, err := v.attention()
	if err != nil {
		return err
	}
	again.Form = view.Form
	s, err := v.sheet("attention", again.Need.What, again)
	if err != nil {
		return err
	}
	s.Said = &flash{Text: words + " What you typed of it is not kept yet; close this when it is over."}
	return v.write(http.StatusOK, "attention", s)
}

// holdView is the page that clears a hold.
type holdView struct {
	Name     string // of the person
	Felt     string // what they said they felt; empty for nothing
	Hold     store.Hold
	What     string
	Form     *form
	Stations []choice // where a code can be told over the telephone
	Need     *desk.Need
	Logged   bool // the log of its session has come in
}

func showHold(v *visit) error {
	view, err := v.hold()
	if err != nil {
		return err
	}
	view.Form = newForm()
	return v.page("hold", "Clear "+view.Hold.Tag, view)
}

// hold is the one in the address, as long as it stands.
func (v *visit) hold() (holdView, error) {
	id, err := v.number("id")
	if err != nil {
		return holdView{}, err
	}
	now, err := v.desk().Now(v.ctx(), v.who)
	if err != nil {
		return holdView{}, err
	}
	for _, h := range now.Holds {
		if h.ID != id {
			continue
		}
		view := holdView{Hold: h, What: holdWords(h.Reason)}
		who, err := v.desk().View(v.ctx(), v.who, h.Tag)
		if err != nil && !errors.Is(err, desk.ErrNotFound) {
			return holdView{}, err
		}
		if who != nil {
			view.Name = who.Name
		}
		for _, st := range now.Stations {
			view.Stations = append(view.Stations, choice{Value: st.Name, Label: st.Name})
		}
		if h.Attention != 0 {
			view.Need, err = v.desk().Attention(v.ctx(), v.who, h.Attention)
			if err != nil && !errors.Is(err, desk.ErrNotFound) {
				return holdView{}, err
			}
			if view.Need != nil {
				if name, words := more(view.Need.Attention); name == "felt" {
					view.Felt = words
				}
				if view.Logged, err = v.logged(view.Need.Session); err != nil {
					return holdView{}, err
				}
			}
		}
		return view, nil
	}
	return holdView{}, &problem{http.StatusNotFound, "Nothing is held here", "Somebody may have cleared it meanwhile; the patient's page says who and when."}
}

// holdWords says why a tag is held.
func holdWords(r store.Reason) string {
	words := map[store.Reason]string{
		store.StopPressed: "the red button was pressed", store.NotWell: "they said that they were not well", store.ClosingSymptom: "they felt something afterwards",
	}[r]
	if words == "" {
		return "staff said so"
	}
	return words
}

// clearForm is what clearing needs in either way: a deliberate tick and a note.
func clearForm(v *visit) (holdView, error) {
	view, err := v.hold()
	if err != nil {
		return view, err
	}
	if view.Form, err = v.sent(); err != nil {
		return view, err
	}
	view.Form.need("sure", "Tick that you have looked at this and "+view.Hold.Tag+" may exercise again.")
	view.Form.need("note", "Say why: what you found, and what is to be watched.")
	return view, nil
}

func clearHeld(v *visit) error {
	view, err := clearForm(v)
	if err != nil {
		return err
	}
	if view.Form.ok() {
		_, err := v.desk().Clear(v.ctx(), v.who, view.Hold.ID, view.Form.Get("note"))
		if err == nil {
			return v.back("/now", "%s may exercise again, on every station.", view.Hold.Tag)
		}
		if !view.Form.takes(err) {
			return err
		}
	}
	return v.again("hold", "Clear "+view.Hold.Tag, view)
}

// codeView is the page that is read out over the telephone.
type codeView struct {
	Tag, Station string
	Presses      []coach.Button
}

func telephoneCode(v *visit) error {
	view, err := clearForm(v)
	if err != nil {
		return err
	}
	f := view.Form
	station := f.need("station", "Choose the station they are at.")
	if f.ok() {
		presses, err := v.desk().TelephoneCode(v.ctx(), v.who, view.Hold.ID, station, f.Get("note"))
		if err == nil {
			return v.page("code", "Read this out", codeView{view.Hold.Tag, station, presses})
		}
		if !f.takes(err) {
			return err
		}
	}
	return v.again("hold", "Clear "+view.Hold.Tag, view)
}
