package record

import (
	"time"

	"evenbell/coach"
)

// Gap is a time in which something was missing: the link, power, a page.
type Gap struct {
	What string    `json:"what"`
	From time.Time `json:"from"`
	To   time.Time `json:"to,omitzero"` // zero while it goes on, or where nobody can tell
}

// logGaps are the gaps the station's log tells of: when it had no desk, and
// when its program did not run. Entries are in order of the log.
func (in Incident) logGaps() []Gap {
	var out []Gap
	var last coach.Entry
	lost := -1
	for _, e := range in.Entries {
		got, err := e.read()
		if err != nil || got.Wall == nil {
			continue
		}
		if got.Kind == coach.EntryStart && last.Wall != nil {
			what := "the station's program did not run"
			if got.Boot != last.Boot {
				what = "the station was off, or was started anew"
			}
			out = append(out, Gap{what, *last.Wall, *got.Wall})
		}
		last = got
		d, ok := got.Data.(*coach.LinkData)
		switch {
		case ok && d.Desk == "lost":
			lost = len(out)
			out = append(out, Gap{What: "the station did not hear the desk", From: *got.Wall})
		case ok && d.Desk == "found" && lost >= 0:
			out[lost].To, lost = *got.Wall, -1
		}
	}
	return out
}
