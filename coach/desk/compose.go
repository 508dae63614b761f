package desk

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// prescribed is an approved prescription, read.
type prescribed struct {
	who  store.Patient
	rx   store.Prescription
	plan *plan.Plan
}

// Load composes the station's day plan of the approved prescriptions of the
// tags, in that order, and sends it (LoadPlan). It is refused where one of them
// has none in force on the day, is held, or was screened "not today", where a
// dose would differ from what was approved, and where the station stands in
// somebody else's home. No tags: an empty place is not sent; Refusal.
func (d *Desk) Load(ctx context.Context, who Actor, station string, day coach.Day, tags ...string) (sp store.StationPlan, err error) {
	if err := who.check(LoadPlan); err != nil {
		return sp, err
	}
	if len(tags) == 0 {
		return sp, refuse("tags", "nobody is chosen; at least one")
	}
	err = d.change(ctx, func(ctx context.Context) error {
		st, err := d.stationNamed(ctx, station)
		if err != nil {
			return err
		}
		var all []prescribed
		for _, tag := range tags {
			p, err := d.prescribedFor(ctx, who, tag, day)
			if err != nil {
				return err
			}
			all = append(all, p)
		}
		home, err := d.inHome(ctx, st, tags)
		if err != nil {
			return err
		}
		pl, err := compose(all, day, home)
		if err != nil {
			return err
		}
		sp, err = d.send(ctx, who, st, pl)
		return err
	})
	if err == nil {
		d.planSent(sp)
	}
	return sp, err
}

// prescribedFor is what a patient is to do on a day; refused where they must
// not.
func (d *Desk) prescribedFor(ctx context.Context, who Actor, tag string, day coach.Day) (out prescribed, err error) {
	if out.who, err = d.patientTagged(ctx, tag); err != nil {
		return out, err
	}
	held, err := d.openHoldsOf(ctx, out.who.Tag)
	if err != nil {
		return out, err
	}
	if len(held) > 0 {
		zone, err := d.Zone(ctx)
		if err != nil {
			return out, err
		}
		return out, refuse("tags", "%s is held since %s; a supervisor clears it first", out.who.Tag, held[0].Since.In(zone).Format("2 January 2006, 15:04"))
	}
	if err := d.mayStart(ctx, who, out.who, day); err != nil {
		return out, err
	}
	out.rx, err = d.store.InForce(ctx, out.who.ID)
	if errors.Is(err, store.ErrNotFound) {
		return out, refuse("tags", "%s has no approved plan", out.who.Tag)
	}
	if err != nil {
		return out, err
	}
	limits, err := d.Protocol(ctx)
	if err != nil {
		return out, err
	}
	out.plan, err = readApproved(limits, out.who, out.rx)
	if err == nil && !out.plan.Covers(day) {
		err = refuse("tags", "%s: the approved plan is for %s, not for %s", out.who.Tag, span(out.plan), day)
	}
	return out, err
}

// readApproved reads an approved prescription by the protocol and the record of
// today: what was allowed when it was approved may be no more.
func readApproved(limits *protocol.Protocol, who store.Patient, rx store.Prescription) (*plan.Plan, error) {
	pl, faults := plan.Read(prescriptionName, []byte(rx.Text), limits)
	if pl == nil {
		return nil, refuse("tags", "%s: the approved plan is not allowed any more: %s", who.Tag, coach.Errors(faults)[0])
	}
	if pl.Approval == nil || pl.Fingerprint() != rx.Fingerprint {
		return nil, refuse("tags", "%s: the plan is not the one that was approved; approve it again", who.Tag)
	}
	if c := checkFor(limits, who, rx.Text); c.Plan == nil {
		return nil, refuse("tags", "%s: the record has changed since the plan was approved: %s", who.Tag, coach.Errors(c.Faults)[0])
	}
	return pl, nil
}

func span(p *plan.Plan) string {
	if p.Until == "" {
		return string(p.Day)
	}
	return fmt.Sprintf("%s to %s", p.Day, p.Until)
}

// compose makes one station's plan of prescriptions. At home it is for the whole
// time that all of them are for; in the clinic a plan is for the day.
func compose(all []prescribed, day coach.Day, home bool) (*plan.Plan, error) {
	pl := *all[0].plan
	pl.Day, pl.Until, pl.Patients = day, "", nil
	if last := lastOfAll(all); home && last > day {
		pl.Until = last
	}
	if err := oneVoice(all); err != nil {
		return nil, err
	}
	heard := map[string]string{}
	for _, p := range all {
		v := p.plan.Patients[0]
		if v.Call == "" {
			v.Call = p.who.Record.Call
		}
		v.Home = nil
		if home {
			var err error
			if v.Home, err = atHome(p, pl.Protocol); err != nil {
				return nil, err
			}
		}
		for _, name := range []string{v.Tag, v.Call} {
			if other, taken := heard[strings.ToLower(name)]; taken && name != "" {
				return nil, refuse("tags", "%s and %s would both be called %q; give one another call word", other, v.Tag, name)
			}
			heard[strings.ToLower(name)] = v.Tag
		}
		pl.Patients = append(pl.Patients, v)
	}
	var err error
	if pl.Own, err = ownOf(all); err != nil {
		return nil, err
	}
	approve(&pl, all)
	return &pl, unchanged(&pl, all)
}

// lastOfAll is the last day that all of the prescriptions are for.
func lastOfAll(all []prescribed) coach.Day {
	last := all[0].plan.LastDay()
	for _, p := range all[1:] {
		last = min(last, p.plan.LastDay())
	}
	return last
}

// oneVoice refuses people whose plans are spoken by different voices: a station
// has one for all.
func oneVoice(all []prescribed) error {
	for _, p := range all[1:] {
		if first := all[0]; p.plan.Voice != first.plan.Voice {
			return refuse("tags", "%s is to hear the voice %q and %s the voice %q; a station speaks with one: load them onto two, or write the plans for one voice",
				first.who.Tag, first.plan.Voice, p.who.Tag, p.plan.Voice)
		}
	}
	return nil
}

// ownOf are the clinic's own exercises of all prescriptions; refused where two
// mean different things by one name.
func ownOf(all []prescribed) ([]coach.OwnExercise, error) {
	var out []coach.OwnExercise
	for _, p := range all {
		for _, e := range p.plan.Own {
			i := slices.IndexFunc(out, func(o coach.OwnExercise) bool { return o.ID == e.ID })
			switch {
			case i < 0:
				out = append(out, e)
			case !reflect.DeepEqual(out[i], e):
				return nil, refuse("tags", "%s: the exercise %s was changed between the approvals; approve the older plan again", p.who.Tag, e.Name)
			}
		}
	}
	return out, nil
}

// approve carries the approvals over: by all who approved, at the latest time.
func approve(pl *plan.Plan, all []prescribed) {
	a := plan.Approval{SHA256: pl.Fingerprint()}
	var by []string
	for _, p := range all {
		from := p.plan.Approval
		if !slices.Contains(by, from.By) {
			by = append(by, from.By)
		}
		if from.At.After(a.At) {
			a.At = from.At
		}
	}
	if len(all) == 1 {
		a.Parent = all[0].plan.Fingerprint()
	}
	a.By = names(by)
	pl.Approval = &a
}

// mostNames is the most letters of an approval's names in a plan file.
const mostNames = 80

func names(by []string) string {
	for n := len(by); n > 1; n-- {
		s := strings.Join(by[:n], ", ")
		if n < len(by) {
			s = fmt.Sprintf("%s and %d more", s, len(by)-n)
		}
		if len([]rune(s)) <= mostNames {
			return s
		}
	}
	return by[0]
}

// unchanged refuses a plan in which somebody would do anything but what was
// approved.
func unchanged(pl *plan.Plan, all []prescribed) error {
	for _, p := range all {
		i := slices.IndexFunc(pl.Patients, func(v plan.Patient) bool { return v.Tag == p.who.Tag })
		mine := &plan.Plan{Day: p.plan.Day, Until: p.plan.Until, Own: p.plan.Own,
			Patients: []plan.Patient{asApproved(pl.Patients[i], p.plan.Patients[0])}}
		if mine.Fingerprint() != p.rx.Fingerprint {
			return refuse("tags", "%s: a dose would differ from what was approved", p.who.Tag)
		}
	}
	return nil
}

// send keeps a plan for a station, having read it back.
func (d *Desk) send(ctx context.Context, who Actor, st store.Station, pl *plan.Plan) (store.StationPlan, error) {
	text := plan.Write(pl)
	if back, faults := plan.Read(st.Name, text, pl.Protocol); back == nil {
		return store.StationPlan{}, Faulty{coach.Errors(faults)}
	}
	return d.sendText(ctx, who, LoadPlan, st, pl, string(text))
}

func (d *Desk) sendText(ctx context.Context, who Actor, as Action, st store.Station, pl *plan.Plan, text string) (store.StationPlan, error) {
	if st.Revoked != nil {
		return store.StationPlan{}, refuse("station", "%s was revoked; enrol it again first", st.Name)
	}
	skip, err := d.skipped(ctx, st)
	if err != nil {
		return store.StationPlan{}, err
	}
	sp, err := d.store.SendPlan(ctx, store.StationPlan{Station: st.ID, Day: pl.Day, Until: pl.LastDay(), Tags: pl.Tags(), Text: text,
		Fingerprint: pl.Fingerprint(), Sent: who.Name, SentAt: d.Time(), Version: skip})
	if err != nil {
		return sp, err
	}
	return sp, d.audit(ctx, who, as, st.Name, fmt.Sprintf("plan %d for %s: %s", sp.Version, span(pl), strings.Join(sp.Tags, ", ")))
}

// planSent tells stations and pages.
func (d *Desk) planSent(sp store.StationPlan) {
	d.stationChanged(sp.Station)
	d.events.tell(Event{Kind: PlanEvent, ID: sp.ID, At: d.Time()})
}

// StationPlan is one version of a station's day plan with its text, for
// printing (SeePatients).
func (d *Desk) StationPlan(ctx context.Context, who Actor, id int64) (store.StationPlan, error) {
	if err := who.check(SeePatients); err != nil {
		return store.StationPlan{}, err
	}
	sp, err := d.store.StationPlan(ctx, id)
	if err != nil {
		return sp, notFound(err, "station plan %d", id)
	}
	return sp, d.looked(ctx, who, SeePatients, strings.Join(sp.Tags, ", "), fmt.Sprintf("station plan %d", id))
}

// planOn is the plan a station is to have on a day: the newest for that day,
// else the newest there is; ErrNotFound of the store for none.
func (d *Desk) planOn(ctx context.Context, station int64, day coach.Day) (store.StationPlan, error) {
	newest, err := d.store.PlanFor(ctx, station)
	if err != nil || newest.Day <= day && day <= newest.Until {
		return newest, err
	}
	all, err := d.store.StationPlansOf(ctx, station)
	if err != nil {
		return newest, err
	}
	for _, sp := range all {
		if sp.Day <= day && day <= sp.Until {
			return sp, nil
		}
	}
	return newest, nil
}
