package desk

import (
	"context"
	"errors"
	"slices"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
	"evenbell/coach/screening"
)

// Screen judges today's answers and readings and keeps them (ScreenPatient).
// Refusal where a reading cannot be. Somebody who was in hospital since gets
// the day into their record: nothing rises until they are screened again by a
// supervisor's word.
func (d *Desk) Screen(ctx context.Context, who Actor, tag string, today screening.Today) (s store.Screening, err error) {
	if err := who.check(ScreenPatient); err != nil {
		return s, err
	}
	day, err1 := d.Today(ctx)
	limits, err2 := d.Protocol(ctx)
	if err := errors.Join(err1, err2); err != nil {
		return s, err
	}
	today.Day = day
	err = d.change(ctx, func(ctx context.Context) error {
		p, err := d.patientTagged(ctx, tag)
		if err != nil {
			return err
		}
		result, err := screening.Screen(limits, p.Record.Screening, today)
		if err != nil {
			return refuse("", "%v", err)
		}
		s, err = d.store.AddScreening(ctx, store.Screening{Patient: p.ID, Day: day, Today: today, Result: result, By: who.Name, At: d.Time()})
		if err != nil {
			return err
		}
		if err := d.noteAdmission(ctx, p, today); err != nil {
			return err
		}
		return d.audit(ctx, who, ScreenPatient, p.Tag, string(result.Verdict))
	})
	if err == nil {
		d.allStationsChanged() // one may have a plan for them
	}
	return s, err
}

func (d *Desk) noteAdmission(ctx context.Context, p store.Patient, today screening.Today) error {
	if today.Admitted == nil || !*today.Admitted || slices.Contains(p.Record.Admissions, today.Day) {
		return nil
	}
	p.Record.Admissions = append(p.Record.Admissions, today.Day)
	_, err := d.store.UpdatePatient(ctx, p)
	return err
}

// Screenings are a patient's, newest first (SeePatients).
func (d *Desk) Screenings(ctx context.Context, who Actor, tag string) ([]store.Screening, error) {
	if err := who.check(SeePatients); err != nil {
		return nil, err
	}
	p, err := d.patientTagged(ctx, tag)
	if err != nil {
		return nil, err
	}
	if err := d.looked(ctx, who, SeePatients, p.Tag, "screenings"); err != nil {
		return nil, err
	}
	return d.store.ScreeningsOf(ctx, p.ID, 0)
}

// screeningOn is the newest screening of a day; nil for none.
func (d *Desk) screeningOn(ctx context.Context, patient int64, day coach.Day) (*store.Screening, error) {
	all, err := d.store.ScreeningsOf(ctx, patient, 1)
	if err != nil || len(all) == 0 || all[0].Day != day {
		return nil, err
	}
	return &all[0], nil
}

// mayStart refuses a patient whom today's screening keeps from starting: "not
// today" for everybody, "ask the supervisor" for who is none. Without a
// screening the questions of the session stand alone.
func (d *Desk) mayStart(ctx context.Context, who Actor, p store.Patient, day coach.Day) error {
	s, err := d.screeningOn(ctx, p.ID, day)
	if err != nil || s == nil {
		return err
	}
	switch s.Result.Verdict {
	case protocol.NotToday:
		return refuse("tags", "%s: today's screening says \"%s\"", p.Tag, protocol.NotToday)
	case protocol.Ask:
		if !who.May(ApprovePlan) {
			return refuse("tags", "%s: today's screening says \"%s\"; a supervisor loads this plan", p.Tag, protocol.Ask)
		}
	}
	return nil
}
