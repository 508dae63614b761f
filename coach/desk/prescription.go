package desk

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
)

// longestPlan is far more than a plan for one patient needs.
const longestPlan = 64 << 10

// Draft keeps the text as the patient's newest version, faults and all, so
// that no work is lost; only one without can be approved.
func (d *Desk) Draft(ctx context.Context, who Actor, tag, text string) (store.Prescription, *Checked, error) {
	if err := who.check(WritePlan); err != nil {
		return store.Prescription{}, nil, err
	}
	p, err := d.patientTagged(ctx, tag)
	if err != nil {
		return store.Prescription{}, nil, err
	}
	if len(text) > longestPlan {
		return store.Prescription{}, nil, refuse("text", "is %d bytes long; at most %d", len(text), longestPlan)
	}
	return d.draft(ctx, who, p, text)
}

func (d *Desk) draft(ctx context.Context, who Actor, p store.Patient, text string) (rx store.Prescription, c *Checked, err error) {
	if c, err = d.checkDraft(ctx, p, text); err != nil {
		return rx, nil, err
	}
	rx = store.Prescription{Patient: p.ID, Text: text, Fingerprint: c.Fingerprint, Written: who.Name, WrittenAt: d.Time()}
	err = d.change(ctx, func(ctx context.Context) (err error) {
		if rx, err = d.store.AddPrescription(ctx, rx); err != nil {
			return err
		}
		return d.audit(ctx, who, WritePlan, p.Tag, fmt.Sprintf("version %d, %d fault(s)", rx.Version, len(coach.Errors(c.Faults))))
	})
	return rx, c, err
}

// Approve approves a draft by the actor's name. seen is the fingerprint the
// approver looked at (Checked.Fingerprint): ErrChanged where draft, record or
// protocol make it another by now. Faulty with any fault. What is kept is the
// plan as it was understood, with every default and precaution written out.
func (d *Desk) Approve(ctx context.Context, who Actor, id int64, seen string) (rx store.Prescription, err error) {
	if err := who.check(ApprovePlan); err != nil {
		return rx, err
	}
	err = d.change(ctx, func(ctx context.Context) error {
		draft, p, err := d.prescription(ctx, id)
		if err != nil {
			return err
		}
		if draft.Approved != "" || draft.Withdrawn {
			return refuse("", "version %d is no draft any more", draft.Version)
		}
		c, err := d.checkDraft(ctx, p, draft.Text)
		if err != nil {
			return err
		}
		if c.Plan == nil {
			return Faulty{coach.Errors(c.Faults)}
		}
		if c.Fingerprint != seen {
			return fmt.Errorf("%w: look at the plan again before it is approved", ErrChanged)
		}
		rx, err = d.approve(ctx, who, draft, p, c)
		return err
	})
	if err == nil {
		d.allStationsChanged()
	}
	return rx, err
}

func (d *Desk) approve(ctx context.Context, who Actor, draft store.Prescription, p store.Patient, c *Checked) (store.Prescription, error) {
	now, pl := d.Time(), c.Plan
	pl.Approval = &plan.Approval{By: who.Name, At: now, SHA256: pl.Fingerprint()}
	before, err := d.store.InForce(ctx, p.ID)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return draft, err
	}
	if err == nil {
		pl.Approval.Parent = d.parent(ctx, before, pl)
	}
	if err := errors.Join(d.useDecisions(ctx, p.ID, draft), d.called(ctx, p, pl.Patients[0].Call)); err != nil {
		return draft, err
	}
	if err := errors.Join(d.store.SetFingerprint(ctx, draft.ID, pl.Approval.SHA256), d.keepSeen(ctx, draft.ID, c)); err != nil {
		return draft, err
	}
	rx, err := d.store.Approve(ctx, draft.ID, string(plan.Write(pl)), who.Name, now)
	if errors.Is(err, store.ErrState) {
		return rx, refuse("", "a newer version is in force already; begin from that one")
	}
	if err != nil {
		return rx, err
	}
	return rx, d.audit(ctx, who, ApprovePlan, p.Tag, fmt.Sprintf("version %d, %s", rx.Version, pl.Approval.SHA256))
}

// keepSeen keeps what the approver was shown: warnings and expected length are
// another matter once the protocol or the voices have changed.
func (d *Desk) keepSeen(ctx context.Context, id int64, c *Checked) error {
	seen := store.Seen{Expected: c.Length}
	for _, f := range c.Faults {
		seen.Warnings = append(seen.Warnings, f.String())
	}
	by, err := d.protocolInForce(ctx)
	if err != nil {
		return err
	}
	limits, err := d.Protocol(ctx)
	if err != nil {
		return err
	}
	seen.Edition, seen.Print = limits.Name(), limits.Fingerprint()
	if by != nil {
		seen.Protocol = by.Version
	}
	return d.store.SetSeen(ctx, id, seen)
}

// parent is the fingerprint of the approved plan before, where the new one
// changes nothing but its days.
func (d *Desk) parent(ctx context.Context, before store.Prescription, pl *plan.Plan) string {
	limits, err := d.Protocol(ctx)
	if err != nil {
		return ""
	}
	old, _ := plan.Read(prescriptionName, []byte(before.Text), limits)
	if old == nil {
		return ""
	}
	same := *old
	same.Day, same.Until = pl.Day, pl.Until
	if same.Fingerprint() != pl.Fingerprint() {
		return ""
	}
	return old.Fingerprint()
}

// useDecisions marks what was decided before the draft was written as gone
// into it: the approver has seen the doses.
func (d *Desk) useDecisions(ctx context.Context, patient int64, draft store.Prescription) error {
	all, err := d.store.DecisionsOf(ctx, patient)
	if err != nil {
		return err
	}
	for _, v := range all {
		if v.Undone || v.Used != 0 || v.At.After(draft.WrittenAt) {
			continue
		}
		if err := d.store.UseDecision(ctx, v.ID, draft.ID); err != nil {
			return err
		}
	}
	return nil
}

// Withdraw takes an approved prescription back (ApprovePlan), or throws a draft
// away (WritePlan). Stations that have it by then coach by it no more.
func (d *Desk) Withdraw(ctx context.Context, who Actor, id int64) error {
	if err := who.check(WritePlan); err != nil {
		return err
	}
	err := d.change(ctx, func(ctx context.Context) error {
		rx, p, err := d.prescription(ctx, id)
		if err != nil {
			return err
		}
		if rx.Approved != "" {
			if err := who.check(ApprovePlan); err != nil {
				return err
			}
		}
		if err := d.store.Withdraw(ctx, id); err != nil {
			return err
		}
		return d.audit(ctx, who, WritePlan, p.Tag, fmt.Sprintf("version %d taken back", rx.Version))
	})
	if err == nil {
		d.allStationsChanged()
	}
	return err
}

// Prescription is one version, looked at (SeePatients).
func (d *Desk) Prescription(ctx context.Context, who Actor, id int64) (store.Prescription, *Checked, error) {
	if err := who.check(SeePatients); err != nil {
		return store.Prescription{}, nil, err
	}
	rx, p, err := d.prescription(ctx, id)
	if err != nil {
		return rx, nil, err
	}
	if err := d.looked(ctx, who, SeePatients, p.Tag, fmt.Sprintf("plan, version %d", rx.Version)); err != nil {
		return rx, nil, err
	}
	check := d.checkPlan
	if rx.Approved == "" && !rx.Withdrawn {
		check = d.checkDraft
	}
	c, err := check(ctx, p, rx.Text)
	return rx, c, err
}

func (d *Desk) prescription(ctx context.Context, id int64) (store.Prescription, store.Patient, error) {
	rx, err := d.store.Prescription(ctx, id)
	if err != nil {
		return rx, store.Patient{}, notFound(err, "plan %d", id)
	}
	p, err := d.store.Patient(ctx, rx.Patient)
	return rx, p, notFound(err, "the patient of plan %d", id)
}

func (d *Desk) patientTagged(ctx context.Context, tag string) (store.Patient, error) {
	p, err := d.store.PatientByTag(ctx, strings.TrimSpace(tag))
	return p, notFound(err, "nobody has the tag %q", tag)
}
