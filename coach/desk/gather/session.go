package gather

import (
	"context"
	"fmt"
	"slices"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
	"evenbell/coach/plan"
)

// Note is what a session's note is made of (SeeReview).
func (f From) Note(ctx context.Context, session string) (record.NoteInput, error) {
	if !f.Who.May(desk.SeeReview) {
		return record.NoteInput{}, fmt.Errorf("%w: %s", desk.ErrDenied, desk.SeeReview)
	}
	s, err := f.session(ctx, session)
	if err != nil {
		return record.NoteInput{}, err
	}
	if err := f.may(ctx, desk.SeeReview, s.Tag, "note of session "+s.ID); err != nil {
		return record.NoteInput{}, err
	}
	a, err := f.around(ctx, s)
	if err != nil {
		return record.NoteInput{}, err
	}
	r, err := f.reader(ctx)
	if err != nil {
		return record.NoteInput{}, err
	}
	got, err := r.read(ctx, s)
	if err != nil {
		return record.NoteInput{}, err
	}
	in := a.note(got)
	if s.Part != "" && s.Part != coach.Whole {
		sent, err := f.sentPlan(ctx, s)
		if err != nil {
			return in, err
		}
		if sent != nil {
			in.Planned = record.PlannedAt(sent.Text, a.then.limits, s.Tag)
		}
	}
	return in, nil
}

// VisitNote is what the note of a visit is made of, by any of its sessions
// (SeeReview).
func (f From) VisitNote(ctx context.Context, session string) (record.NoteInput, error) {
	v, err := f.Desk.Visit(ctx, f.Who, session)
	if err != nil {
		return record.NoteInput{}, err
	}
	r, err := f.reader(ctx)
	if err != nil {
		return record.NoteInput{}, err
	}
	var in record.NoteInput
	for i, stay := range v.Stays {
		s, err := f.session(ctx, stay.ID)
		if err != nil {
			return in, err
		}
		a, err := f.around(ctx, s)
		if err != nil {
			return in, err
		}
		got, err := r.read(ctx, s)
		if err != nil {
			return in, err
		}
		if i == 0 {
			in = a.note(got)
			continue
		}
		in.Sessions = append(in.Sessions, got)
		in.Attentions, in.Holds = append(in.Attentions, a.attentions...), append(in.Holds, a.holds...)
	}
	in.Visit = &v.Visit
	return in, nil
}

// note is what the note of one session is made of.
func (a around) note(of record.Session) record.NoteInput {
	in := record.NoteInput{Clinic: a.clinic, Patient: a.patient, Sessions: []record.Session{of}, Protocol: a.then.limits, Attentions: a.attentions, Holds: a.holds}
	if len(a.screenings) > 0 {
		in.Screening = &a.screenings[0]
	}
	if len(a.then.approved) > 0 {
		rx := a.then.approved[0]
		in.Sessions[0].Under = rx.ID
		if rx.Plan != nil {
			in.Planned = rx.Plan.Patients[0].Items
		}
	}
	return in
}

func (f From) session(ctx context.Context, id string) (store.Session, error) {
	s, err := f.store().Session(ctx, id)
	if isMissing(err) {
		return s, fmt.Errorf("%w: session %q", desk.ErrNotFound, id)
	}
	return s, err
}

// around is what stands around a session.
type around struct {
	clinic     record.Clinic
	patient    store.Patient
	then       then
	screenings []store.Screening // of the session's day
	attentions []store.Attention
	holds      []store.Hold
}

func (f From) around(ctx context.Context, s store.Session) (around, error) {
	var a around
	var err error
	if a.clinic, err = f.Clinic(ctx); err != nil {
		return a, err
	}
	if a.patient, err = f.patient(ctx, s.Tag); err != nil {
		return a, err
	}
	day := dayIn(s.Begun, a.clinic.Zone)
	if a.then, err = f.at(ctx, a.patient.ID, s.Begun, day); err != nil {
		return a, err
	}
	if a.patient.ID != 0 {
		all, err := f.store().ScreeningsOf(ctx, a.patient.ID, 0)
		if err != nil {
			return a, fmt.Errorf("finding the day's screening: %w", err)
		}
		for _, sc := range all {
			if sc.Day == day {
				a.screenings = append(a.screenings, sc)
			}
		}
	}
	if a.attentions, err = f.store().Attentions(ctx, store.AttentionFilter{Session: s.ID}); err != nil {
		return a, fmt.Errorf("finding who looked: %w", err)
	}
	holds, err := f.store().HoldsOf(ctx, s.Tag)
	if err != nil {
		return a, fmt.Errorf("finding holds: %w", err)
	}
	for _, h := range holds {
		if slices.ContainsFunc(a.attentions, func(x store.Attention) bool { return x.ID == h.Attention }) {
			a.holds = append(a.holds, h)
		}
	}
	return a, nil
}

// mostAfter bounds what of the log after a session goes into an incident.
const mostAfter = 400

// Incident is everything around one session (ExportData).
func (f From) Incident(ctx context.Context, session string) (record.Incident, error) {
	s, err := f.session(ctx, session)
	if err != nil {
		return record.Incident{}, err
	}
	if err := f.may(ctx, desk.ExportData, s.Tag, "incident of session "+s.ID); err != nil {
		return record.Incident{}, err
	}
	a, err := f.around(ctx, s)
	if err != nil {
		return record.Incident{}, err
	}
	in := record.Incident{Clinic: a.clinic, Made: f.Desk.Time(), By: f.Who.Name, Patient: a.patient, Session: s.ID,
		Approved: a.then.approved, Protocol: a.then.protocol, Limits: a.then.limits, Screenings: a.screenings, Attentions: a.attentions, Holds: a.holds}
	if in.Visit, err = f.visitOf(ctx, s); err != nil {
		return in, err
	}
	if in.Station, err = f.store().Station(ctx, s.Station); err != nil {
		return in, fmt.Errorf("finding the station: %w", err)
	}
	if len(in.Approved) > 0 && in.Approved[0].Plan != nil {
		in.Precautions = in.Approved[0].Plan.Patients[0].Precautions
	}
	if err := f.logOf(ctx, s, &in); err != nil {
		return in, err
	}
	if err := f.planOf(ctx, s, &in); err != nil {
		return in, err
	}
	return in, f.people(ctx, s, &in)
}

// logOf is the station's log from the session's first entry until the next
// session there began, with the hash before it.
func (f From) logOf(ctx context.Context, s store.Session, in *record.Incident) error {
	in.Before = map[string]journal.Hash{}
	after := max(s.First-2, 0)
	take := store.EntryFilter{Station: s.Station, Epoch: s.Epoch, After: after, Limit: int(s.Last-after) + mostAfter}
	for e, err := range f.store().Entries(ctx, take) {
		if err != nil {
			return fmt.Errorf("reading the log: %w", err)
		}
		if e.Seq < s.First {
			in.Before[e.Epoch] = e.Hash
			continue
		}
		if e.Session != "" && e.Session != s.ID && e.Seq > s.Last {
			break
		}
		in.Entries = append(in.Entries, record.Entry{Entry: e, StationName: in.Station.Name})
	}
	if _, known := in.Before[s.Epoch]; !known {
		in.Before[s.Epoch] = journal.Hash{}
	}
	breaks, err := f.store().Breaks(ctx, s.Station)
	if err != nil {
		return fmt.Errorf("finding breaks of the log: %w", err)
	}
	for _, b := range breaks {
		if b.Epoch == s.Epoch {
			in.Breaks = append(in.Breaks, b)
		}
	}
	if len(in.Entries) > 0 {
		first, err := in.Entries[0].Entry.Entry()
		if err != nil {
			return fmt.Errorf("reading the log: %w", err)
		}
		if in.Contacts, err = f.store().Contacts(ctx, s.Station, first.Boot); err != nil {
			return fmt.Errorf("finding contacts: %w", err)
		}
	}
	return nil
}

// planOf is what the station had been sent.
func (f From) planOf(ctx context.Context, s store.Session, in *record.Incident) (err error) {
	if in.Plan, err = f.sentPlan(ctx, s); err != nil || in.Plan == nil {
		return err
	}
	if p, _ := plan.Read("plan", []byte(in.Plan.Text), in.Limits); p != nil {
		in.PlanPrint = p.Fingerprint()
	}
	return nil
}

// sentPlan is the station's plan that a session was led by; nil where it is not
// known.
func (f From) sentPlan(ctx context.Context, s store.Session) (sent *store.StationPlan, err error) {
	all, err := f.store().StationPlansOf(ctx, s.Station)
	if err != nil {
		return nil, fmt.Errorf("finding the station's plan: %w", err)
	}
	for i, p := range all {
		if p.Fingerprint == s.Plan && p.Text != "" {
			sent = &all[i]
		}
	}
	return sent, nil
}

// visitOf are the parts of the visit that a session is one of.
func (f From) visitOf(ctx context.Context, s store.Session) ([]record.Part, error) {
	all, err := f.store().Sessions(ctx, store.SessionFilter{Tag: s.Tag})
	if err != nil {
		return nil, fmt.Errorf("finding the other parts of the visit: %w", err)
	}
	names, err := f.stationNames(ctx)
	if err != nil {
		return nil, err
	}
	byID := map[string]store.Session{}
	for _, one := range all {
		byID[one.ID] = one
	}
	var out []record.Part
	for _, v := range desk.Join(all) {
		if !v.Has(s.ID) {
			continue
		}
		for _, stay := range v.Stays {
			out = append(out, record.Part{Session: byID[stay.ID], StationName: names[byID[stay.ID].Station]})
		}
	}
	return out, nil
}
