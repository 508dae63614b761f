package record

import "evenbell/coach"

// visits turns each visit of several sessions, or of parts, into an Encounter:
// what was done in it refers to it (R4, Procedure.encounter, "the Encounter
// during which this Procedure was performed"). partOf would make one procedure a
// step of another, and here none is the whole.
func (b *builder) visits() {
	for _, v := range b.Visits {
		if !v.Joined() {
			continue
		}
		e := encounter{head: b.head("Encounter", "visit", v.ID()), Identifier: []identifier{{visits, v.ID()}}, Status: "finished",
			Class: coding{actCodes, "AMB", "ambulatory"}, Type: []concept{{Text: "cardiac rehabilitation visit"}},
			Subject: b.subject, Period: b.period(v.Start(), v.End()), ServiceProvider: b.owner}
		switch {
		case v.Outcome() == coach.NotStarted:
			e.Status = "cancelled" // it ended before it began
		case !v.Over():
			e.Status = "unknown"
		}
		ref := b.add(e.head, e)
		for _, s := range v.Stays {
			b.in[s.ID] = visited{&ref, v.NotHere()}
		}
	}
}

// visited is the visit that a session is part of, with what of it is not here.
type visited struct {
	encounter *reference
	notHere   []string
}
