// Package gather brings together what a record is made of: from the desk and
// its store come the values that coach/desk/record writes.
//
// It may know the desk, its store and its records, and nothing of pages,
// commands or the network. It looks at the caller's role and leaves a line in
// the audit trail before it gives anything out, as the desk does.
//
// Invariants it keeps:
//   - A patient's name is given to those alone who may see patients.
//   - What was then is told from what was known then: the plan, protocol and
//     precautions of a session are those in force when it began.
package gather

import (
	"context"
	"fmt"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
)

// From is whom to ask, and who asks.
type From struct {
	Desk *desk.Desk
	Who  desk.Actor
}

func (f From) store() *store.Store { return f.Desk.Store() }

// may refuses what the caller may not do, and notes what they may.
func (f From) may(ctx context.Context, what desk.Action, about, detail string) error {
	if !f.Who.May(what) {
		return fmt.Errorf("%w: %s", desk.ErrDenied, what)
	}
	return f.store().Audit(ctx, store.AuditLine{At: f.Desk.Time(), By: f.Who.Name, Action: string(what), Subject: about, Detail: detail})
}

// Clinic is what heads every record.
func (f From) Clinic(ctx context.Context) (record.Clinic, error) {
	c, err := f.Desk.Clinic(ctx)
	if err != nil {
		return record.Clinic{}, err
	}
	zone, err := f.Desk.Zone(ctx)
	if err != nil {
		return record.Clinic{}, err
	}
	out := record.Clinic{Name: c.Name, Telephone: c.Telephone, Zone: zone}
	for _, e := range c.Exercises {
		out.Exercises = append(out.Exercises, e.Exercise)
	}
	return out, nil
}

// patient is who has a tag; the name is left out for who may not see it. A tag
// nobody has is a patient with nothing but the tag.
func (f From) patient(ctx context.Context, tag string) (store.Patient, error) {
	p, err := f.store().PatientByTag(ctx, tag)
	switch {
	case isMissing(err):
		return store.Patient{Tag: tag}, nil
	case err != nil:
		return p, fmt.Errorf("finding who has the tag %s: %w", tag, err)
	}
	if !f.Who.May(desk.SeePatients) && !f.Who.May(desk.ExportRecord) {
		p.Name = ""
	}
	return p, nil
}

// endOf is the moment at which a day has ended in a zone.
func endOf(d coach.Day, zone *time.Location) time.Time {
	t := d.Time()
	return time.Date(t.Year(), t.Month(), t.Day()+1, 0, 0, 0, 0, zone)
}

// startOf is the moment at which a day begins in a zone; zero for no day.
func startOf(d coach.Day, zone *time.Location) time.Time {
	if d == "" {
		return time.Time{}
	}
	t := d.Time()
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, zone)
}
