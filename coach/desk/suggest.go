package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// Suggestion is a plan to begin from, with what was changed and why.
type Suggestion struct {
	Text  string   // of a plan file
	Notes []string // in plain words, in the order of the items
}

// FromProgramme begins a plan for today from a built-in programme (WritePlan):
// what a precaution bars is replaced or left out, and the notes say so. Loads
// are the heaviest owned that are not heavier than the programme's, else the
// lightest owned.
func (d *Desk) FromProgramme(ctx context.Context, who Actor, tag, programme string) (*Suggestion, error) {
	if err := who.check(WritePlan); err != nil {
		return nil, err
	}
	all := catalogue.Programmes()
	i := slices.IndexFunc(all, func(p catalogue.Programme) bool { return p.ID == programme })
	if i < 0 {
		return nil, fmt.Errorf("%w: no programme is called %q", ErrNotFound, programme)
	}
	s, err := d.suggester(ctx, who, tag)
	if err != nil {
		return nil, err
	}
	pl := s.empty()
	for _, it := range all[i].Items {
		s.add(&pl.Patients[0], plan.Item{Exercise: it.Exercise, Sides: it.Sides, Pace: pl.Pace,
			Dose: coach.Dose{Load: it.Load, Reps: it.Reps, Sets: 1, Stage: it.Stage}}, true)
	}
	return s.done(pl), nil
}

// FromLast begins a plan for today from the newest prescription, an approved
// one before a draft: what a precaution bars by now is replaced or left out.
func (d *Desk) FromLast(ctx context.Context, who Actor, tag string) (*Suggestion, error) {
	s, err := d.suggester(ctx, who, tag)
	if err != nil {
		return nil, err
	}
	last, err := d.lastPlan(ctx, s.who)
	if err != nil {
		return nil, err
	}
	pl := s.again(last)
	for _, it := range last.Patients[0].Items {
		s.add(&pl.Patients[0], it, false)
	}
	return s.done(pl), nil
}

// lastPlan is the newest approved prescription of a patient, or the newest
// draft that can be read, as a plan.
func (d *Desk) lastPlan(ctx context.Context, who store.Patient) (*plan.Plan, error) {
	all, err := d.store.PrescriptionsOf(ctx, who.ID)
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(all, func(a, b store.Prescription) int {
		return cmp.Or(-cmp.Compare(min(1, len(a.Approved)), min(1, len(b.Approved))), -cmp.Compare(a.Version, b.Version))
	})
	for _, rx := range all {
		// Read by the built-in protocol where the clinic's own allows it no more:
		// it is only to begin from, and is checked again.
		for _, limits := range d.protocolsFor(ctx) {
			if pl, _ := plan.Read(prescriptionName, []byte(rx.Text), limits); pl != nil && notFor(pl, who.Tag) == nil {
				return pl, nil
			}
		}
	}
	return nil, fmt.Errorf("%w: %s has no plan yet to begin from", ErrNotFound, who.Tag)
}

func (d *Desk) protocolsFor(ctx context.Context) []*protocol.Protocol {
	own, err := d.Protocol(ctx)
	if err != nil {
		return []*protocol.Protocol{protocol.Default()}
	}
	return []*protocol.Protocol{own, protocol.Default()}
}

// suggester puts a plan together for one patient.
type suggester struct {
	clinic Clinic
	owned  dose.Owned
	limits *protocol.Protocol
	who    store.Patient
	given  []coach.Precaution
	today  coach.Day
	notes  []string
}

func (d *Desk) suggester(ctx context.Context, who Actor, tag string) (*suggester, error) {
	if err := who.check(WritePlan); err != nil {
		return nil, err
	}
	s := &suggester{}
	var err, err1, err2, err3, err4 error
	s.who, err = d.patientTagged(ctx, tag)
	s.clinic, err1 = d.Clinic(ctx)
	s.owned, err2 = s.clinic.OwnedBy(s.who.Record)
	s.limits, err3 = d.Protocol(ctx)
	s.today, err4 = d.Today(ctx)
	if err := errors.Join(err, err1, err2, err3, err4); err != nil {
		return nil, err
	}
	s.given = precautions(s.limits, s.who.Record, s.today)
	return s, nil
}

// empty is a plan for today without items.
func (s *suggester) empty() *plan.Plan {
	r := s.who.Record
	return &plan.Plan{Day: s.today, Until: HomeUntil(r, s.today), Clinic: s.clinic.Name, Voice: s.clinic.Voice, Unit: s.clinic.Unit, Pace: plan.UsualPace(s.limits), Protocol: s.limits,
		Patients: []plan.Patient{{Tag: s.who.Tag, Call: r.Call, Guide: cmp.Or(r.Guide, coach.GuideBoth), Part: coach.Whole,
			Home: HomeOf(r, s.limits), WarmUp: s.limits.Seconds(protocol.WarmUpLeast), CoolDown: s.limits.Seconds(protocol.CoolDownLeast), Precautions: s.given}}}
}

// again is an earlier plan for today on, as long as it was for, without items.
func (s *suggester) again(last *plan.Plan) *plan.Plan {
	pl := *last
	pl.Approval, pl.Day, pl.Protocol = nil, s.today, s.limits
	if last.Until != "" {
		pl.Until = s.today.AddDays(last.Day.DaysUntil(last.Until))
	}
	v := last.Patients[0]
	v.Items, v.Precautions, v.Intro = nil, plan.InForce(s.limits, union(s.given, v.Precautions), s.today), false
	if s.who.Record.Call != "" {
		v.Call = s.who.Record.Call
	}
	if s.who.Record.Guide != "" {
		v.Guide = s.who.Record.Guide
	}
	v.Home = HomeOf(s.who.Record, s.limits)
	s.given = v.Precautions
	pl.Patients = []plan.Patient{v}
	return &pl
}

// add puts an item in, or what may stand in its place; fit chooses the load
// among what the clinic owns even where the item itself is allowed.
func (s *suggester) add(to *plan.Patient, it plan.Item, fit bool) {
	e, ok := catalogue.Find(it.Exercise)
	if !ok {
		to.Items = append(to.Items, it) // the clinic's own, which it stands for
		return
	}
	stage, ok := catalogue.Stage(e, it.Dose.Stage)
	if !ok {
		s.note("%s: the stage %q is no more", e.Name, it.Dose.Stage)
		stage = e.Stages[0]
		it.Dose.Stage, it.Sides = stage.ID, stage.Sides[0]
	}
	if p, barred := catalogue.BarredBy(stage, it.Sides, s.given); barred {
		if it, ok = s.instead(to, it, e, p); !ok {
			return
		}
		fit = true
	}
	if fit {
		it.Dose.Load = s.fit(it)
	}
	to.Items = append(to.Items, it)
}

// instead is what stands in the place of a barred item; false where it is left
// out.
func (s *suggester) instead(to *plan.Patient, it plan.Item, e coach.Exercise, p coach.Precaution) (plan.Item, bool) {
	c, ok := catalogue.Alternative(it.Exercise, s.given)
	taken := func(x plan.Item) bool { return x.Exercise == c.Exercise }
	switch {
	case !ok:
		s.note("%s is left out: the %s precaution", e.Name, p.Kind)
		return it, false
	case c.Exercise != it.Exercise && slices.ContainsFunc(to.Items, taken):
		s.note("%s is left out: the %s precaution, and what stands in its place is there already", e.Name, p.Kind)
		return it, false
	}
	other, _ := catalogue.Find(c.Exercise)
	st, _ := catalogue.Stage(other, c.Stage)
	if c.Exercise == it.Exercise {
		s.note("%s: %s, %s, for the %s precaution", e.Name, st.Name, c.Sides, p.Kind)
	} else {
		s.note("%s in place of %s: the %s precaution", other.Name, e.Name, p.Kind)
		it.Last, it.Words = coach.Done{}, ""
	}
	it.Exercise, it.Dose.Stage, it.Sides = c.Exercise, c.Stage, c.Sides
	if !catalogue.Takes(st, it.Dose.Load.Kind()) {
		it.Dose.Load = s.lightest(st)
	}
	return it, true
}

// lightest is the least a stage can be done with, of what is owned.
func (s *suggester) lightest(st coach.Stage) coach.Load {
	if slices.Contains(st.Loads, coach.BodyLoad) {
		return coach.Body()
	}
	for _, k := range st.Loads {
		if all := s.owned.Loads(k); len(all) > 0 {
			return all[0]
		}
	}
	if st.Loads[0] == coach.BandLoad {
		return coach.Band(1)
	}
	return coach.Dumbbell(1000, s.clinic.Unit)
}

// fit is the load to begin with: the heaviest owned that is not heavier.
func (s *suggester) fit(it plan.Item) coach.Load {
	want := it.Dose.Load
	all := s.owned.Loads(want.Kind())
	if want.Kind() == coach.BodyLoad || len(all) == 0 {
		return want
	}
	best := all[0]
	for _, l := range all {
		if lighterOrSame(l, want) {
			best = l
		}
	}
	if !lighterOrSame(best, want) {
		s.note("%s: %s is the lightest there is; %s was meant", it.Exercise, best, want)
	}
	return best
}

func lighterOrSame(a, b coach.Load) bool {
	if a.Kind() == coach.BandLoad {
		return a.Band() <= b.Band()
	}
	return a.Grams() <= b.Grams()
}

func (s *suggester) note(format string, args ...any) {
	s.notes = append(s.notes, fmt.Sprintf(format, args...))
}

func (s *suggester) done(pl *plan.Plan) *Suggestion {
	s.own(pl)
	return &Suggestion{Text: string(plan.Write(pl)), Notes: s.notes}
}

// own gives a plan the clinic's own exercises that are in it, as the clinic has
// them now; one it has no more stays as the plan had it.
func (s *suggester) own(pl *plan.Plan) {
	old := pl.Own
	pl.Own = nil
	for _, it := range pl.Patients[0].Items {
		is := func(e coach.OwnExercise) bool { return e.ID == it.Exercise }
		if !coach.IsOwn(it.Exercise) || slices.ContainsFunc(pl.Own, is) {
			continue
		}
		for _, from := range [][]coach.OwnExercise{s.clinic.Exercises, old} {
			if i := slices.IndexFunc(from, is); i >= 0 {
				pl.Own = append(pl.Own, from[i])
				break
			}
		}
	}
}
