package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// objection is why a station must not coach somebody by the plan it has: what
// was known when the plan was loaded is so no more. cause is the screening or
// the station's plan it comes from; 0 for none.
type objection struct {
	cause int64
	why   string
}

// objections looks at everybody of a plan that a station has, for a day on
// which it would coach by it.
func (d *Desk) objections(ctx context.Context, sp store.StationPlan, day coach.Day, limits *protocol.Protocol) (map[string]objection, error) {
	out := map[string]objection{}
	if day < sp.Day || sp.Until < day {
		return out, nil
	}
	pl := d.texts.read(sp.Text, limits)
	for _, tag := range sp.Tags {
		p, err := d.store.PatientByTag(ctx, tag)
		if errors.Is(err, store.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		o, err := d.screenedSince(ctx, sp, p, day)
		if err == nil && o.cause == 0 && pl != nil {
			o, err = d.prescribedOtherwise(ctx, sp, pl, p, day, limits)
		}
		if err != nil {
			return nil, err
		}
		if o.cause != 0 {
			out[tag] = o
		}
	}
	return out, nil
}

// screenedSince is what the day's screening says against a plan. "Ask the
// supervisor" counts where it was said after the plan was sent: a supervisor
// who then agrees loads it once more.
func (d *Desk) screenedSince(ctx context.Context, sp store.StationPlan, p store.Patient, day coach.Day) (objection, error) {
	s, err := d.screeningOn(ctx, p.ID, day)
	switch {
	case err != nil || s == nil:
		return objection{}, err
	case s.Result.Verdict == protocol.NotToday, s.Result.Verdict == protocol.Ask && s.At.After(sp.SentAt):
		return objection{s.ID, fmt.Sprintf("the screening says \"%s\"", s.Result.Verdict)}, nil
	}
	return objection{}, nil
}

// prescribedOtherwise is what the approvals of today say against a plan.
// Somebody whom only a plan file names, which its writer approved, has none.
func (d *Desk) prescribedOtherwise(ctx context.Context, sp store.StationPlan, pl *plan.Plan, p store.Patient, day coach.Day, limits *protocol.Protocol) (objection, error) {
	all, err := d.store.PrescriptionsOf(ctx, p.ID)
	i := slices.IndexFunc(pl.Patients, func(v plan.Patient) bool { return v.Tag == p.Tag })
	if err != nil || i < 0 {
		return objection{}, err
	}
	all = slices.DeleteFunc(all, func(rx store.Prescription) bool { return rx.Approved == "" })
	from := slices.IndexFunc(all, func(rx store.Prescription) bool { return d.loadedFrom(pl, i, rx, limits) })
	now := slices.IndexFunc(all, func(rx store.Prescription) bool { return !rx.Withdrawn })
	object := func(why string) (objection, error) { return objection{sp.ID, why}, nil }
	switch {
	case from < 0 && (now < 0 || pl.Approval == nil || !all[now].ApprovedAt.After(pl.Approval.At)):
		return objection{}, nil // a plan file, and nothing newer
	case now < 0:
		return object("the approval was taken back")
	case from < 0 || all[now].Fingerprint != all[from].Fingerprint:
		return object("a newer plan was approved")
	}
	if why := d.texts.refused(limits, p, all[now]); why != "" {
		return object(why)
	}
	if rx := d.texts.read(all[now].Text, limits); rx != nil && !rx.Covers(day) {
		return object("the approved plan is not for this day")
	}
	return objection{}, nil
}

// loadedFrom reports whether a station's plan has the doses of a prescription.
// A part of a class has some of them: it is of the newest approved before it.
func (d *Desk) loadedFrom(pl *plan.Plan, i int, rx store.Prescription, limits *protocol.Protocol) bool {
	if pl.Patients[i].Part != coach.Whole {
		return pl.Approval != nil && !rx.ApprovedAt.After(pl.Approval.At)
	}
	was := d.texts.read(rx.Text, limits)
	if was == nil {
		return false
	}
	mine := &plan.Plan{Day: was.Day, Until: was.Until, Own: was.Own, Patients: []plan.Patient{asApproved(pl.Patients[i], was.Patients[0])}}
	return mine.Fingerprint() == rx.Fingerprint
}

// against is what is to be said against the plans that stations have for a day,
// by station.
func (d *Desk) against(ctx context.Context, plans []store.StationPlan, day coach.Day) (map[int64]map[string]objection, error) {
	limits, err := d.rules(ctx)
	if err != nil {
		return nil, err
	}
	out := map[int64]map[string]objection{}
	for _, sp := range plans {
		if out[sp.Station], err = d.objections(ctx, sp, day, limits); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// object puts the objections to a station's plan beside the holds. They have no
// number of their own; no hold has one below zero.
func (l *Link) object(ctx context.Context, sp store.StationPlan, all *forStations, s *link.State) error {
	found, err := l.d.objections(ctx, sp, all.today, all.limits)
	if err != nil {
		return err
	}
	for _, tag := range sp.Tags {
		if o := found[tag]; o.cause != 0 {
			s.Holds = append(s.Holds, link.Hold{ID: -o.cause, Tag: tag, Reason: link.HeldStaff, Since: sp.SentAt})
		}
	}
	return nil
}

// texts remembers plans that were read, by the protocol in force: stations ask
// for the same ones all the time.
type texts struct {
	mu     sync.Mutex
	limits *protocol.Protocol // whose all the others are
	source string             // of limits
	plans  map[string]*plan.Plan
	wrong  map[checked]string
}

// checked is an approved prescription beside a version of the record.
type checked struct{ prescription, patient, version int64 }

// mostTexts is how many are remembered; with more, all are read again.
const mostTexts = 2000

// rules is the protocol in force, the same one for as long as it is.
func (d *Desk) rules(ctx context.Context) (*protocol.Protocol, error) {
	source, err := d.protocolText(ctx)
	if err != nil {
		return nil, err
	}
	t := &d.texts
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.limits == nil || t.source != source {
		if t.limits, err = d.Protocol(ctx); err != nil {
			t.limits = nil
			return nil, err
		}
		t.source, t.plans, t.wrong = source, nil, nil
	}
	return t.limits, nil
}

// fresh makes room, and forgets what was read by another protocol. Call it with
// mu held.
func (t *texts) fresh(limits *protocol.Protocol) {
	if t.plans == nil || t.limits != limits || len(t.plans)+len(t.wrong) > mostTexts {
		t.plans, t.wrong = map[string]*plan.Plan{}, map[checked]string{}
	}
}

// read gives a plan of its text, nil where that is not allowed any more. Nobody
// may change it.
func (t *texts) read(text string, limits *protocol.Protocol) *plan.Plan {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.fresh(limits)
	pl, known := t.plans[text]
	if !known {
		pl, _ = plan.Read(prescriptionName, []byte(text), limits)
		t.plans[text] = pl
	}
	return pl
}

// refused says why an approved prescription is not to be done any more; empty
// where it is.
func (t *texts) refused(limits *protocol.Protocol, who store.Patient, rx store.Prescription) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.fresh(limits)
	key := checked{rx.ID, who.ID, who.Version}
	why, known := t.wrong[key]
	if !known {
		if _, err := readApproved(limits, who, rx); err != nil {
			why = err.Error()
		}
		t.wrong[key] = why
	}
	return why
}
