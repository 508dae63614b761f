package gather

import (
	"context"
	"fmt"

	"evenbell/coach/desk"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
)

// Chart is everything of one patient, for record.FHIR (ExportRecord).
func (f From) Chart(ctx context.Context, tag string) (record.Chart, error) {
	var c record.Chart
	p, err := f.store().PatientByTag(ctx, tag)
	if isMissing(err) {
		return c, fmt.Errorf("%w: nobody has the tag %q", desk.ErrNotFound, tag)
	}
	if err != nil {
		return c, fmt.Errorf("finding who has the tag %s: %w", tag, err)
	}
	if err := f.may(ctx, desk.ExportRecord, p.Tag, "whole record"); err != nil {
		return c, err
	}
	c.Patient, c.Made = p, f.Desk.Time()
	if c.Clinic, err = f.Clinic(ctx); err != nil {
		return c, err
	}
	limits, err := f.Desk.Protocol(ctx)
	if err != nil {
		return c, err
	}
	all, err := f.store().PrescriptionsOf(ctx, p.ID)
	if err != nil {
		return c, fmt.Errorf("gathering plans: %w", err)
	}
	for _, rx := range all {
		c.Prescriptions = append(c.Prescriptions, readPrescription(rx, limits))
	}
	if c.Screenings, err = f.store().ScreeningsOf(ctx, p.ID, 0); err != nil {
		return c, fmt.Errorf("gathering screenings: %w", err)
	}
	if c.Decisions, err = f.store().DecisionsOf(ctx, p.ID); err != nil {
		return c, fmt.Errorf("gathering decisions: %w", err)
	}
	if c.Attentions, err = f.store().Attentions(ctx, store.AttentionFilter{Tag: p.Tag}); err != nil {
		return c, fmt.Errorf("gathering attentions: %w", err)
	}
	if err := f.chartSessions(ctx, &c); err != nil {
		return c, err
	}
	return c, f.chartProposals(ctx, &c)
}

// chartSessions reads every session, with the plan it was led under.
func (f From) chartSessions(ctx context.Context, c *record.Chart) error {
	r, err := f.reader(ctx)
	if err != nil {
		return err
	}
	all, err := f.store().Sessions(ctx, store.SessionFilter{Tag: c.Patient.Tag})
	if err != nil {
		return fmt.Errorf("gathering sessions: %w", err)
	}
	c.Visits = desk.Join(all)
	for _, s := range all {
		got, err := r.read(ctx, s)
		if err != nil {
			return err
		}
		got.Under = underWhich(c.Prescriptions, s, dayIn(s.Begun, c.Clinic.Zone))
		c.Sessions = append(c.Sessions, got)
	}
	return nil
}

// chartProposals are the proposals that nobody has answered, for who may see
// them.
func (f From) chartProposals(ctx context.Context, c *record.Chart) error {
	if !f.Who.May(desk.SeeReview) {
		return nil
	}
	got, err := f.Desk.Review(ctx, f.Who, c.Patient.Tag, "", "")
	if err != nil {
		return err
	}
	for _, p := range got.Proposals {
		if p.Decision == nil {
			c.Proposals = append(c.Proposals, record.Proposed{Proposal: p.Proposal, Day: got.To})
		}
	}
	return nil
}
