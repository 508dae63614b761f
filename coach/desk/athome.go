package desk

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// HomeOf is what a plan says of the home in a patient's record; nil for who
// exercises at the clinic. Fewer days between sessions than the protocol allows,
// as records of old may have, become as many as it asks for. The telephone is as
// it was typed: the plan's own reader judges it.
func HomeOf(r store.Record, limits *protocol.Protocol) *coach.Home {
	if r.Home == nil {
		return nil
	}
	return &coach.Home{Telephone: coach.Telephone(r.Home.Telephone), Emergency: strings.Join(strings.Fields(r.Home.Emergency), " "), Alone: r.Home.Alone,
		DaysBetween: max(r.Home.DaysBetween, limits.Int(protocol.DaysBetweenLeast))}
}

// homeWeeks is for how long a plan for home is first offered: a supervisor
// writes another end as they see fit.
const homeWeeks = 4

// HomeUntil is the last day that is offered for a plan from a day on; empty for
// who exercises at the clinic, where a plan is for as long as somebody says.
func HomeUntil(r store.Record, from coach.Day) coach.Day {
	if r.Home == nil {
		return ""
	}
	return from.AddDays(7*homeWeeks - 1)
}

// OwnedBy is what a patient has to lift and pull: at home what is there, else
// what the clinic has.
func (c Clinic) OwnedBy(r store.Record) (dose.Owned, error) {
	if r.Home == nil {
		return c.owned()
	}
	var dumbbells []coach.Load
	var bands []dose.BandLevel
	for _, text := range r.Home.Equipment {
		switch l, err := coach.ParseLoad(text); {
		case err != nil:
			return dose.Owned{}, fmt.Errorf("a load in the settings for home: %w", err)
		case l.Kind() == coach.DumbbellLoad:
			dumbbells = append(dumbbells, l)
		case l.Kind() == coach.BandLoad && !slices.ContainsFunc(bands, func(b dose.BandLevel) bool { return b.Level == l.Band() }):
			bands = append(bands, dose.BandLevel{Level: l.Band()})
		}
	}
	return dose.NewOwned(dumbbells, bands)
}

// notAtHome warns of every load of a plan that is not in the patient's home.
func notAtHome(pl *plan.Plan, r store.Record, text []byte) []coach.Fault {
	if r.Home == nil {
		return nil
	}
	owned, err := Clinic{}.OwnedBy(r)
	if err != nil {
		return []coach.Fault{{File: prescriptionName, Key: "patient.home", Warning: true, Message: err.Error()}}
	}
	var out []coach.Fault
	at, there := lines(text), cmp.Or(strings.Join(r.Home.Equipment, ", "), "none")
	for n, it := range pl.Patients[0].Items {
		l := it.Dose.Load
		if l.Kind() == coach.BodyLoad || slices.ContainsFunc(owned.Loads(l.Kind()), func(o coach.Load) bool { return o.Grams() == l.Grams() && o.Band() == l.Band() }) {
			continue
		}
		f := coach.Fault{File: prescriptionName, Key: "patient.item.load", Warning: true,
			Message: fmt.Sprintf("is %s, which is not among the loads at home: %s", l, there)}
		if len(at) == len(pl.Patients[0].Items) {
			f.Line = at[n]
		}
		out = append(out, f)
	}
	return out
}

// inHome reports whether a station stands in somebody's home; refused where one
// of the tags does not live there.
func (d *Desk) inHome(ctx context.Context, st store.Station, tags []string) (bool, error) {
	people, err := d.store.Patients(ctx, store.PatientFilter{Current: true})
	if err != nil {
		return false, err
	}
	var there []string
	for _, p := range people {
		if p.LivesWith(st.ID) {
			there = append(there, p.Tag)
		}
	}
	for _, tag := range tags {
		if len(there) > 0 && !slices.ContainsFunc(there, func(t string) bool { return strings.EqualFold(t, tag) }) {
			return false, refuse("tags", "%s stands in the home of %s; no plan of %s goes there", st.Name, strings.Join(there, ", "), tag)
		}
	}
	return len(there) > 0, nil
}

// atHome gives a patient of a station's plan what the record says of the home
// now: words and telephone may be newer than the approval, the days between
// sessions are those that were approved.
func atHome(p prescribed, limits *protocol.Protocol) (*coach.Home, error) {
	h, approved := HomeOf(p.who.Record, limits), p.plan.Patients[0].Home
	if approved == nil {
		return nil, refuse("tags", "%s: the plan was approved for the clinic, not for home; approve it again", p.who.Tag)
	}
	if h.DaysBetween != approved.DaysBetween {
		return nil, refuse("tags", "%s: the plan was approved with days of rest between sessions: %d; the settings for home say %d; approve it again", p.who.Tag, approved.DaysBetween, h.DaysBetween)
	}
	return h, nil
}

// asApproved is a patient of a station's plan for comparing with what was
// approved: in the clinic staff choose the days, and the home is left out.
func asApproved(v, approved plan.Patient) plan.Patient {
	if v.Home == nil {
		v.Home = approved.Home
	}
	return v
}
