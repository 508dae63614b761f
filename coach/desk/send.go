package desk

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// SendFile sends a plan file that a named person approved in it (SendPlanFile;
// contract: desk plan send). Faulty with faults or without an approval; the
// warnings and notes (held tags, tags that were unknown until now) come back.
func (d *Desk) SendFile(ctx context.Context, who Actor, station, file string, text []byte) (sp store.StationPlan, notes []coach.Fault, err error) {
	if err := who.check(SendPlanFile); err != nil {
		return sp, nil, err
	}
	limits, err := d.Protocol(ctx)
	if err != nil {
		return sp, nil, err
	}
	pl, faults := plan.Read(file, text, limits)
	if pl == nil {
		return sp, faults, Faulty{faults}
	}
	if pl.Approval == nil {
		return sp, faults, Faulty{[]coach.Fault{{File: file, Key: "approval", Message: "missing: nobody has approved this plan; [approval] with by and at, written by a supervisor"}}}
	}
	st, err := d.stationNamed(ctx, station)
	if err != nil {
		return sp, nil, err
	}
	notes = faults
	err = d.change(ctx, func(ctx context.Context) error {
		if _, err := d.inHome(ctx, st, pl.Tags()); err != nil {
			return err
		}
		by, err := d.noteApprover(ctx, file, pl.Approval)
		if err != nil {
			return err
		}
		own, err := d.noteOwn(ctx, file, pl)
		if err != nil {
			return err
		}
		notes = append(append(notes, by...), own...)
		for _, v := range pl.Patients {
			note, err := d.noteOf(ctx, file, v.Tag, v.Call)
			if err != nil {
				return err
			}
			notes = append(notes, note...)
		}
		if sp, err = d.sendText(ctx, who, SendPlanFile, st, pl, string(text)); err != nil {
			return err
		}
		return d.audit(ctx, who, SendPlanFile, st.Name, fmt.Sprintf("plan %d says that %s approved it on %s", sp.Version, pl.Approval.By, pl.Approval.At.UTC().Format(time.RFC3339)))
	})
	if err == nil {
		d.planSent(sp)
	}
	return sp, notes, err
}

// clocksApart is how far ahead of the desk's the clock may be of the machine on
// which a plan was approved.
const clocksApart = 10 * time.Minute

// noteApprover says what is odd about an approval that came in a file: the desk
// did not see it given.
func (d *Desk) noteApprover(ctx context.Context, file string, a *plan.Approval) ([]coach.Fault, error) {
	warn := func(key, format string, args ...any) coach.Fault {
		return coach.Fault{File: file, Key: key, Warning: true, Message: fmt.Sprintf(format, args...)}
	}
	var notes []coach.Fault
	m, err := d.store.StaffByName(ctx, a.By)
	switch {
	case err != nil && !errors.Is(err, store.ErrNotFound):
		return nil, err
	case err != nil || m.Role != store.Supervisor || m.Disabled:
		notes = append(notes, warn("approval.by", "%q is the name of no supervisor's account at this desk", a.By))
	}
	if a.At.After(d.Time().Add(clocksApart)) {
		notes = append(notes, warn("approval.at", "%s is in the future by this desk's clock", a.At.UTC().Format(time.RFC3339)))
	}
	return notes, nil
}

// noteOf ensures a tag, with the word it is called by, and says what staff
// should know of it.
func (d *Desk) noteOf(ctx context.Context, file, tag, call string) ([]coach.Fault, error) {
	p, err := d.store.EnsureTag(ctx, tag)
	if err == nil && p.Tag != tag {
		return nil, Faulty{[]coach.Fault{{File: file, Key: "patient.tag", Message: fmt.Sprintf("is %q; the patient is %s here", tag, p.Tag)}}}
	}
	if err == nil {
		err = d.called(ctx, p, call)
	}
	if err != nil {
		return nil, err
	}
	warn := func(format string, args ...any) coach.Fault {
		return coach.Fault{File: file, Key: "patient.tag", Warning: true, Message: fmt.Sprintf(format, args...)}
	}
	var notes []coach.Fault
	if p.Name == "" {
		notes = append(notes, warn("nobody has given %s a name at this desk yet", tag))
	}
	held, err := d.openHoldsOf(ctx, p.Tag)
	if err != nil {
		return nil, err
	}
	if len(held) > 0 {
		var why []string
		for _, h := range held {
			why = append(why, string(h.Reason))
		}
		notes = append(notes, warn("%s is held (%s) and will not be coached until a supervisor clears it", tag, strings.Join(why, ", ")))
	}
	today, err := d.Today(ctx)
	if err != nil {
		return nil, err
	}
	if s, err := d.screeningOn(ctx, p.ID, today); err != nil {
		return nil, err
	} else if s != nil && s.Result.Verdict != protocol.MayStart {
		notes = append(notes, warn("today's screening of %s says \"%s\"", tag, s.Result.Verdict))
	}
	return notes, nil
}

// called takes the call word of a plan into a record that has none, so that
// pages call people as stations do.
func (d *Desk) called(ctx context.Context, p store.Patient, call string) error {
	if call == "" || p.Record.Call != "" {
		return nil
	}
	p.Record.Call = call
	_, err := d.store.UpdatePatient(ctx, p)
	return err
}
