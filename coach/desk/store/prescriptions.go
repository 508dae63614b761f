package store

import (
	"context"
	"fmt"
	"time"
)

const prescriptionColumns = "id, patient, version, text, fingerprint, written, written_at, approved, approved_at, withdrawn, seen"

func scanPrescription(r row) (p Prescription, err error) {
	return p, r.Scan(&p.ID, &p.Patient, &p.Version, &p.Text, &p.Fingerprint, &p.Written, aTime(&p.WrittenAt),
		&p.Approved, aTime(&p.ApprovedAt), aFlag(&p.Withdrawn), asJSON(&p.Seen))
}

// AddPrescription keeps a draft as the patient's next version. It does nothing
// until it is approved.
func (s *Store) AddPrescription(ctx context.Context, p Prescription) (Prescription, error) {
	p.Approved, p.ApprovedAt, p.Withdrawn, p.Seen = "", time.Time{}, false, Seen{}
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		p.ID = c.id()
		if err := c.QueryRowContext(ctx, "SELECT coalesce(max(version), 0) + 1 FROM prescription WHERE patient = $1", p.Patient).Scan(&p.Version); err != nil {
			return err
		}
		_, err := c.exec(ctx, "INSERT INTO prescription ("+prescriptionColumns+") VALUES ($1, $2, $3, $4, $5, $6, $7, '', 0, 0, '{}')",
			p.ID, p.Patient, p.Version, p.Text, p.Fingerprint, p.Written, millis(p.WrittenAt))
		return err
	})
	return p, err
}

// Prescription gives one version.
func (s *Store) Prescription(ctx context.Context, id int64) (Prescription, error) {
	return one(ctx, s.reading(ctx), scanPrescription, "prescription", "SELECT "+prescriptionColumns+" FROM prescription WHERE id = $1", id)
}

// PrescriptionsOf gives a patient's versions, newest first.
func (s *Store) PrescriptionsOf(ctx context.Context, patient int64) ([]Prescription, error) {
	return many(ctx, s.reading(ctx), scanPrescription, "the prescriptions",
		"SELECT "+prescriptionColumns+" FROM prescription WHERE patient = $1 ORDER BY version DESC", patient)
}

// OpenPrescriptions gives the versions of all current patients that were not
// withdrawn, newest first.
func (s *Store) OpenPrescriptions(ctx context.Context) ([]Prescription, error) {
	return many(ctx, s.reading(ctx), scanPrescription, "the prescriptions",
		"SELECT "+prescriptionColumns+" FROM prescription WHERE withdrawn = 0 AND patient IN (SELECT id FROM patient WHERE left_day = '') ORDER BY version DESC")
}

// InForce gives a patient's approved version; ErrNotFound where there is none.
func (s *Store) InForce(ctx context.Context, patient int64) (Prescription, error) {
	return one(ctx, s.reading(ctx), scanPrescription, "approved prescription",
		"SELECT "+prescriptionColumns+" FROM prescription WHERE patient = $1 AND approved <> '' AND withdrawn = 0 ORDER BY version DESC LIMIT 1", patient)
}

// SetFingerprint notes what a draft is understood as now, where the record or
// the protocol changed since it was written. ErrState where it is no draft.
func (s *Store) SetFingerprint(ctx context.Context, id int64, fingerprint string) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		return c.must(ctx, "a prescription that is no draft", ErrState,
			"UPDATE prescription SET fingerprint = $1 WHERE id = $2 AND approved = '' AND withdrawn = 0", fingerprint, id)
	})
}

// SetSeen notes what is shown to who is about to approve a draft. ErrState where
// it is no draft.
func (s *Store) SetSeen(ctx context.Context, id int64, seen Seen) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		return c.must(ctx, "a prescription that is no draft", ErrState,
			"UPDATE prescription SET seen = $1 WHERE id = $2 AND approved = '' AND withdrawn = 0", inJSON{seen}, id)
	})
}

// Approve makes a draft the one in force and withdraws the one before. text is
// the prescription with the approval written into it; empty leaves it as it
// is. ErrState where it is no draft, or older than the one in force.
func (s *Store) Approve(ctx context.Context, id int64, text, by string, at time.Time) (p Prescription, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		if p, err = s.Prescription(ctx, id); err != nil {
			return err
		}
		if p.Approved != "" || p.Withdrawn {
			return fmt.Errorf("version %d is no draft: %w", p.Version, ErrState)
		}
		if now, err := s.InForce(ctx, p.Patient); err == nil && now.Version > p.Version {
			return fmt.Errorf("version %d is in force and newer than version %d: %w", now.Version, p.Version, ErrState)
		}
		if text != "" {
			p.Text = text
		}
		p.Approved, p.ApprovedAt = by, timeOf(millis(at))
		if _, err := c.exec(ctx, "UPDATE prescription SET withdrawn = 1 WHERE patient = $1 AND approved <> ''", p.Patient); err != nil {
			return err
		}
		return c.must(ctx, "prescription", ErrNotFound, "UPDATE prescription SET text = $1, approved = $2, approved_at = $3 WHERE id = $4",
			p.Text, by, millis(at), id)
	})
	return p, err
}

// Withdraw takes a version back, draft or approved; what it was is kept.
func (s *Store) Withdraw(ctx context.Context, id int64) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		if _, err := s.Prescription(ctx, id); err != nil {
			return err
		}
		return c.must(ctx, "a prescription that was withdrawn already", ErrState, "UPDATE prescription SET withdrawn = 1 WHERE id = $1 AND withdrawn = 0", id)
	})
}

const decisionColumns = "id, patient, exercise, session, proposal, answer, dose, reason, by_name, at, undone, used"

func scanDecision(r row) (d Decision, err error) {
	return d, r.Scan(&d.ID, &d.Patient, &d.Exercise, &d.Session, asJSON(&d.Proposal), &d.Answer, asJSON(&d.To),
		&d.Reason, &d.By, aTime(&d.At), aFlag(&d.Undone), &d.Used)
}

// AddDecision keeps a supervisor's answer to a proposal.
func (s *Store) AddDecision(ctx context.Context, d Decision) (Decision, error) {
	d.Undone, d.Used = false, 0
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		d.ID = c.id()
		_, err := c.exec(ctx, "INSERT INTO decision ("+decisionColumns+") VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, 0, 0)",
			d.ID, d.Patient, d.Exercise, d.Session, inJSON{d.Proposal}, string(d.Answer), inJSON{d.To}, d.Reason, d.By, millis(d.At))
		return err
	})
	return d, err
}

// Decision gives one answer.
func (s *Store) Decision(ctx context.Context, id int64) (Decision, error) {
	return one(ctx, s.reading(ctx), scanDecision, "decision", "SELECT "+decisionColumns+" FROM decision WHERE id = $1", id)
}

// UndoDecision takes an answer back. It stays to be seen; ErrState once it went
// into a prescription.
func (s *Store) UndoDecision(ctx context.Context, id int64) error {
	return s.decide(ctx, id, "UPDATE decision SET undone = 1 WHERE id = $1 AND used = 0 AND undone = 0", id)
}

// UseDecision notes the prescription that an answer went into, once.
func (s *Store) UseDecision(ctx context.Context, id, prescription int64) error {
	return s.decide(ctx, id, "UPDATE decision SET used = $1 WHERE id = $2 AND used = 0 AND undone = 0", prescription, id)
}

func (s *Store) decide(ctx context.Context, id int64, query string, args ...any) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		if _, err := s.Decision(ctx, id); err != nil {
			return err
		}
		return c.must(ctx, "a decision that was undone or is in a prescription", ErrState, query, args...)
	})
}

// DecisionsOf gives the answers concerning a patient, newest first, undone ones
// too.
func (s *Store) DecisionsOf(ctx context.Context, patient int64) ([]Decision, error) {
	return many(ctx, s.reading(ctx), scanDecision, "the decisions",
		"SELECT "+decisionColumns+" FROM decision WHERE patient = $1 ORDER BY at DESC, id DESC", patient)
}
