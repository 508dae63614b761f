package desk

import (
	"context"
	"fmt"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
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
		for _, v := range pl.Patients {
			note, err := d.noteOf(ctx, file, v.Tag, v.Call)
			if err != nil {
				return err
			}
			notes = append(notes, note...)
		}
		sp, err = d.sendText(ctx, who, SendPlanFile, st, pl, string(text))
		return err
	})
	if err == nil {
		d.planSent(sp)
	}
	return sp, notes, err
}

// noteOf ensures a tag, with the word it is called by, and says what staff
// should know of it.
func (d *Desk) noteOf(ctx context.Context, file, tag, call string) ([]coach.Fault, error) {
	p, err := d.store.EnsureTag(ctx, tag)
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
