package plan

import (
	"evenbell/coach"
	"evenbell/coach/protocol"
	"evenbell/coach/strict"
)

// home reads the table of somebody who exercises at home; nil without one.
func (r *reader) home(t *strict.Table, part coach.Part) *coach.Home {
	sub, ok := t.Table("home", strict.Optional)
	if !ok {
		return nil
	}
	if part != coach.Whole {
		t.Fault("home", "is given, but this is the %s part of a session; at home a session is whole", part)
	}
	h := &coach.Home{DaysBetween: r.protocol.Int(protocol.DaysBetweenLeast)}
	if s, ok := sub.Text("telephone", strict.Required); ok {
		number, err := coach.ParseTelephone(s)
		if err != nil {
			sub.Fault("telephone", "%v", err)
		}
		h.Telephone = number
	}
	h.Emergency = line(sub, "emergency", strict.Optional, LongestNote)
	h.Alone, _ = sub.Bool("alone", strict.Optional)
	if n, ok := count(sub, "days_between", strict.Optional, r.limit(protocol.DaysBetweenLeast), r.limit(protocol.DaysBetweenMost)); ok {
		h.DaysBetween = n
	}
	return h
}
