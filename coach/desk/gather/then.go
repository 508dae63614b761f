package gather

import (
	"context"
	"fmt"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// then is what was in force at a moment.
type then struct {
	protocol *store.Protocol    // the clinic's own; nil for the built-in
	limits   *protocol.Protocol // the same, read
	approved []record.Prescription
}

// at is what was in force for a patient at a moment; a moment nobody knows is
// now.
func (f From) at(ctx context.Context, patient int64, at time.Time, day coach.Day) (then, error) {
	t := then{limits: protocol.Default()}
	if at.IsZero() {
		at = f.Desk.Time()
	}
	if err := f.protocolAt(ctx, at, &t); err != nil || patient == 0 {
		return t, err
	}
	all, err := f.store().PrescriptionsOf(ctx, patient)
	if err != nil {
		return t, fmt.Errorf("finding the plans in force: %w", err)
	}
	var newest *record.Prescription
	for _, rx := range all {
		if rx.Approved == "" || rx.ApprovedAt.After(at) {
			continue
		}
		got := readPrescription(rx, t.limits)
		if got.Plan != nil && day != "" && !got.Plan.Covers(day) {
			continue
		}
		if newest == nil || rx.Version > newest.Version {
			newest = &got
		}
	}
	if newest != nil {
		t.approved = append(t.approved, *newest)
	}
	return t, nil
}

func (f From) protocolAt(ctx context.Context, at time.Time, t *then) error {
	signed, err := f.Desk.Signed(ctx)
	if err != nil {
		return err
	}
	for i, v := range signed {
		if v.SignedAt.After(at) {
			break
		}
		t.protocol = &signed[i].Protocol
		if t.limits = v.Read; t.limits == nil {
			t.limits = protocol.Default()
		}
	}
	return nil
}

// readPrescription is a version as it reads by a protocol, else by the
// built-in one, with what its approver was warned of: as it was kept then, else
// as it reads now.
func readPrescription(rx store.Prescription, limits *protocol.Protocol) record.Prescription {
	out := record.Prescription{Prescription: rx, Expected: rx.Seen.Expected, Warnings: rx.Seen.Warnings}
	kept := rx.Seen.Expected > 0 || len(rx.Seen.Warnings) > 0 || rx.Seen.Protocol > 0
	for _, p := range []*protocol.Protocol{limits, protocol.Default()} {
		got, faults := plan.Read("plan", []byte(rx.Text), p)
		if got == nil {
			continue
		}
		out.Plan = got
		for _, x := range faults {
			if x.Key != "approval" && !kept {
				out.Warnings = append(out.Warnings, x.String())
			}
		}
		return out
	}
	return out
}

// underWhich is the version that was in force when a session began; 0 where
// that is not known.
func underWhich(all []record.Prescription, s store.Session, day coach.Day) int64 {
	var found record.Prescription
	for _, rx := range all {
		if rx.Approved == "" || s.Begun.IsZero() || rx.ApprovedAt.After(s.Begun) || rx.Plan == nil || !rx.Plan.Covers(day) {
			continue
		}
		if rx.Version > found.Version {
			found = rx
		}
	}
	return found.ID
}
