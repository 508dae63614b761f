package desk

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
)

// PlanState is how far a patient's plan for a day has come.
type PlanState string

// The states of a plan.
const (
	NoPlan    PlanState = "no plan"
	Draft     PlanState = "draft"
	Approved  PlanState = "approved"
	Loaded    PlanState = "loaded"         // sent, and the station does not have it yet
	OnStation PlanState = "on the station" // the station has it
	Outdated  PlanState = "not to be done" // a station has one that it must not coach by
	Doing     PlanState = "exercising"
	Done      PlanState = "done"
)

// Comer is one patient on a day.
type Comer struct {
	Tag, Name    string
	State        PlanState
	Prescription *store.Prescription // the newest approved one for the day, else the newest draft
	Stations     []string            // whose plans for the day have them
	Refused      string              // why the station refuses its plan; empty if it does not
	Against      string              // why the station is told not to coach them by its plan; empty if it is not
	Verdict      protocol.Verdict    // of the day's screening; empty where there was none
	Held         bool
	Outcome      coach.Outcome // of the day's newest visit, once it is over
}

// Day is a clinic's day.
type Day struct {
	Day      coach.Day
	Comers   []Comer            // current patients, by name
	Stations []store.Station    // not revoked, by name
	Homes    map[int64][]string // who lives where a station stands, by station; the clinic's own have none
	Classes  []store.Class
}

// Day is who comes on a day, to which station, with plans how far
// (SeePatients).
func (d *Desk) Day(ctx context.Context, who Actor, day coach.Day) (*Day, error) {
	if err := who.check(SeePatients); err != nil {
		return nil, err
	}
	if err := d.looked(ctx, who, SeePatients, "", "the day "+string(day)); err != nil {
		return nil, err
	}
	b, err := d.dayBook(ctx, day)
	if err != nil {
		return nil, err
	}
	people, err1 := d.store.Patients(ctx, store.PatientFilter{Current: true})
	classes, err2 := d.store.Classes(ctx, day, day)
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	out := &Day{Day: day, Classes: classes, Stations: b.stations, Homes: map[int64][]string{}}
	for _, p := range people {
		if h := p.Record.Home; h != nil && h.Station != 0 {
			out.Homes[h.Station] = append(out.Homes[h.Station], p.Tag)
		}
		out.Comers = append(out.Comers, b.comer(p))
	}
	slices.SortStableFunc(out.Comers, func(a, b Comer) int {
		return strings.Compare(strings.ToLower(a.Name)+a.Tag, strings.ToLower(b.Name)+b.Tag)
	})
	return out, nil
}

// dayBook is what all comers of a day are looked up in.
type dayBook struct {
	day      coach.Day
	stations []store.Station
	names    map[int64]string
	plans    []store.StationPlan
	held     map[string]bool
	visits   map[string][]review.Visit      // that began on the day, oldest first
	verdicts map[int64]protocol.Verdict     // of the day's screenings, by patient
	written  map[int64][]store.Prescription // that stand, newest first, by patient
	doing    map[string]bool
	against  map[int64]map[string]objection // by station
}

func (d *Desk) dayBook(ctx context.Context, day coach.Day) (*dayBook, error) {
	b := &dayBook{day: day, names: map[int64]string{}, held: map[string]bool{}, visits: map[string][]review.Visit{}, doing: map[string]bool{},
		verdicts: map[int64]protocol.Verdict{}, written: map[int64][]store.Prescription{}}
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	all, err := d.store.Stations(ctx)
	if err != nil {
		return nil, err
	}
	for _, s := range all {
		b.names[s.ID] = s.Name
		if s.Secret = nil; s.Revoked == nil {
			b.stations = append(b.stations, s)
		}
	}
	if b.plans, err = d.store.StationPlansOn(ctx, day); err != nil {
		return nil, err
	}
	if b.against, err = d.against(ctx, b.plans, day); err != nil {
		return nil, err
	}
	holds, err := d.store.OpenHolds(ctx)
	if err != nil {
		return nil, err
	}
	for _, h := range holds {
		b.held[h.Tag] = true
	}
	screenings, err := d.store.ScreeningsOn(ctx, day)
	if err != nil {
		return nil, err
	}
	for _, s := range screenings {
		b.verdicts[s.Patient] = s.Result.Verdict
	}
	prescriptions, err := d.store.OpenPrescriptions(ctx)
	if err != nil {
		return nil, err
	}
	for _, rx := range prescriptions {
		b.written[rx.Patient] = append(b.written[rx.Patient], rx)
	}
	if b.visits, err = d.visitsOn(ctx, day, zone); err != nil {
		return nil, err
	}
	for _, tag := range d.board.exercising() {
		b.doing[tag] = true
	}
	return b, nil
}

// comer is how far one patient is.
func (b *dayBook) comer(p store.Patient) Comer {
	c := Comer{Tag: p.Tag, Name: p.Name, State: NoPlan, Held: b.held[p.Tag], Verdict: b.verdicts[p.ID]}
	c.prescribed(b.written[p.ID], b.day)
	c.loaded(b)
	c.done(b)
	return c
}

func (c *Comer) prescribed(all []store.Prescription, day coach.Day) {
	for i, rx := range all {
		switch {
		case rx.Approved != "" && coversDay(rx.Text, day):
			c.State, c.Prescription = Approved, &all[i]
			return
		case rx.Approved == "" && c.Prescription == nil:
			c.State, c.Prescription = Draft, &all[i]
		}
	}
}

func (c *Comer) loaded(b *dayBook) {
	for _, sp := range b.plans {
		if !slices.Contains(sp.Tags, c.Tag) {
			continue
		}
		c.Stations = append(c.Stations, b.names[sp.Station])
		if sp.Refused != "" {
			c.Refused = sp.Refused
		}
		if o := b.against[sp.Station][c.Tag]; o.cause != 0 {
			c.Against = o.why
		}
		switch {
		case c.Against != "":
			c.State = Outdated
		case sp.DeliveredAt != nil && c.State != Loaded:
			c.State = OnStation
		default:
			c.State = Loaded
		}
	}
}

func (c *Comer) done(b *dayBook) {
	if b.doing[c.Tag] {
		c.State = Doing
		return
	}
	all := b.visits[c.Tag]
	if len(all) == 0 {
		return
	}
	newest := all[len(all)-1]
	c.Outcome = newest.Outcome()
	if newest.Over() && newest.Began() {
		c.State = Done
	}
}

// roundMidnight is how long before and after a day sessions are looked for that
// may be parts of its visits.
const roundMidnight = 6 * time.Hour

// visitsOn are the visits that began on a day, by tag; what nobody can date was
// told of on the day.
func (d *Desk) visitsOn(ctx context.Context, day coach.Day, zone *time.Location) (map[string][]review.Visit, error) {
	from, to := dayIn(day, zone), dayIn(day.AddDays(1), zone)
	sessions, err := d.store.Sessions(ctx, store.SessionFilter{Since: from.Add(-roundMidnight), Until: to.Add(roundMidnight)})
	if err != nil {
		return nil, err
	}
	out := map[string][]review.Visit{}
	for _, v := range Join(sessions) {
		if at := v.Start(); at.IsZero() || !at.Before(from) && at.Before(to) {
			out[v.Tag] = append(out[v.Tag], v)
		}
	}
	return out, nil
}
