package web

import (
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// stripView is the strip of alarms that stands on every page: who needs
// somebody, wherever in the pages one is.
type stripView struct {
	Lines []stripLine
	Loud  bool // sound the alarm
	// Away is true where the page itself shows all this; the strip then only
	// speaks to screen readers.
	Away bool
}

// stripLine is one attention that is not closed.
type stripLine struct {
	ID   int64
	What string
	Seen bool // somebody has acknowledged it
	By   string
}

// strip is what needs somebody now. Acknowledged attentions stay on it, quietly,
// until they are closed.
func (v *visit) strip(page string) (stripView, error) {
	now, err := v.desk().Now(v.ctx(), v.who)
	if err != nil {
		return stripView{}, err
	}
	return stripOf(now, page), nil
}

func stripOf(now *desk.Now, page string) stripView {
	view := stripView{Away: page == "now"}
	for _, n := range now.Needs {
		seen := n.Acknowledged != nil
		if !n.Loud && !view.Away && !grave(n.Reason) {
			continue // quiet matters wait on the page of who needs somebody
		}
		view.Lines = append(view.Lines, stripLine{ID: n.ID, What: needWords(n), Seen: seen, By: n.AcknowledgedBy})
		view.Loud = view.Loud || n.Loud && !seen
	}
	return view
}

// needWords says in one line what happened to whom and where.
func needWords(n desk.Need) string {
	who, at := n.Tag, n.StationName
	if who == "" {
		who = "somebody"
	}
	if at == "" && n.Reason == store.LostStation {
		return "Lost: no station can be heard"
	}
	if n.Reason == store.Restored {
		return "A backup was put back: some holds may not be known yet"
	}
	words := map[store.Reason]string{
		store.StopPressed:    "Stop: " + who + " at " + at,
		store.NotWell:        "Not well: " + who + " at " + at,
		store.ClosingSymptom: "A symptom afterwards: " + who + " at " + at,
		store.NoAnswer:       "No answer: " + who + " at " + at,
		store.LostStation:    "Lost: " + at + " can't be heard",
		store.LogDamaged:     "Damaged log: " + at,
		store.PartFailed:     "Broken part: " + at,
		store.PlanUnknown:    "A plan this desk does not know: " + at,
	}[n.Reason]
	if words == "" {
		words = "Look at " + at
	}
	return words
}
