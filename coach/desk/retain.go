package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"evenbell/coach"
)

// retainedSetting holds when Retain last looked.
const retainedSetting = "retained"

// retained keeps one wrong clock from deleting anything: after days that were
// jumped over, some must first pass one by one.
type retained struct {
	Day   coach.Day `json:"day"`           // of the last look
	Waits int       `json:"waits"`         // days that have to pass yet
	Was   coach.Day `json:"was,omitempty"` // the day before the newest jump, while it waits
}

const (
	jumpedDays = 2 // more between two looks is a jump
	waitedDays = 3 // pass after one before anything is deleted
)

// passes takes in another look and reports whether the clock can be believed.
func (r *retained) passes(today coach.Day) (jumped bool) {
	switch was := r.Day; {
	case was == "":
	case today < was || today > was.AddDays(jumpedDays):
		r.Waits, r.Was, jumped = waitedDays, was, true
	case today > was && r.Waits > 0:
		r.Waits--
	}
	if r.Waits == 0 {
		r.Was = ""
	}
	r.Day = today
	return jumped
}

// Retain forgets who left longer ago than the clinic keeps data, but for legal
// holds; it gives their tags. Run calls it every hour. Where the day has jumped
// since the last time, it says so in the audit trail and forgets nobody until a
// few days have passed as days do, or somebody has said that the day is right.
func (d *Desk) Retain(ctx context.Context) ([]string, error) {
	c, err := d.Clinic(ctx)
	if err != nil || c.Retention == 0 {
		return nil, err
	}
	today, err := d.Today(ctx)
	if err != nil {
		return nil, err
	}
	wait, err := d.retainWaits(ctx, today)
	if err != nil || wait {
		return nil, err
	}
	tags, err := d.store.Forget(ctx, today.AddDays(-c.Retention), byDesk, d.Time())
	if err == nil && len(tags) > 0 {
		d.log.Info("forgotten", "tags", strings.Join(tags, ", "), "days", c.Retention)
		d.changed()
	}
	return tags, err
}

// retainWaits reports whether the clock must first be believed again.
func (d *Desk) retainWaits(ctx context.Context, today coach.Day) (waits bool, err error) {
	r, err := d.retained(ctx)
	if err != nil {
		return true, err
	}
	before := r
	jumped := r.passes(today)
	if r == before {
		return r.Waits > 0, nil
	}
	return r.Waits > 0, d.store.Together(ctx, func(ctx context.Context) error {
		if jumped {
			what := fmt.Sprintf("the day was %s and is %s: nobody is forgotten until %d days have passed", before.Day, today, waitedDays)
			d.log.Warn("the clock has jumped", "was", before.Day, "is", today)
			if err := d.auditAs(ctx, byDesk, "look for data that is no longer kept", "", what); err != nil {
				return err
			}
		}
		return d.store.SetSetting(ctx, retainedSetting, string(asJSON(r)))
	})
}

func (d *Desk) retained(ctx context.Context) (r retained, err error) {
	text, err := d.store.Setting(ctx, retainedSetting)
	if err == nil && text != "" && json.Unmarshal([]byte(text), &r) != nil {
		err = fmt.Errorf("reading when data was last looked through: %q", text)
	}
	return r, err
}

// Jumped is a jump of the desk's clock, after which nothing is deleted for a
// while.
type Jumped struct {
	Was   coach.Day // the day before it; empty where that is not known
	Is    coach.Day // today, as the desk has it
	Waits int       // days that have to pass before anything is deleted
}

// ClockJumped is the jump because of which nobody is forgotten now (KeepData);
// nil for none, and where data is kept for ever.
func (d *Desk) ClockJumped(ctx context.Context, who Actor) (*Jumped, error) {
	if err := who.check(KeepData); err != nil {
		return nil, err
	}
	c, err := d.Clinic(ctx)
	if err != nil || c.Retention == 0 {
		return nil, err
	}
	r, err := d.retained(ctx)
	if err != nil || r.Waits == 0 {
		return nil, err
	}
	today, err := d.Today(ctx)
	return &Jumped{Was: r.Was, Is: today, Waits: r.Waits}, err
}

// DayIsRight says that the day the desk has is right, for all that its clock has
// jumped (ManageClinic): deleting goes on. ErrChanged where the day is not the
// one that was looked at any more.
func (d *Desk) DayIsRight(ctx context.Context, who Actor, seen coach.Day) error {
	if err := who.check(ManageClinic); err != nil {
		return err
	}
	return d.change(ctx, func(ctx context.Context) error {
		today, err := d.Today(ctx)
		if err != nil {
			return err
		}
		if seen != today {
			return fmt.Errorf("%w: the day is %s now", ErrChanged, today)
		}
		r, err := d.retained(ctx)
		if err != nil {
			return err
		}
		if r.Waits == 0 {
			return refuse("", "deleting does not wait; there is nothing to confirm")
		}
		what := fmt.Sprintf("the day was %s and is %s: confirmed, so deleting goes on", r.Was, today)
		if err := d.store.SetSetting(ctx, retainedSetting, string(asJSON(retained{Day: today}))); err != nil {
			return err
		}
		return d.audit(ctx, who, ManageClinic, "", what)
	})
}
