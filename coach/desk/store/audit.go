package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// AuditLine is one line of the audit trail: who did what to what.
type AuditLine struct {
	ID      int64 // from 1 without gaps
	At      time.Time
	By      string // empty for the program itself
	Action  string
	Subject string // ids and tags, never a patient's name
	Detail  string
	Hash    string // over the line and the hash before it, hexadecimal
}

// after is the hash of a line that follows another.
func (l AuditLine) after(hash string) (string, error) {
	form, err := json.Marshal([]any{hash, l.ID, millis(l.At), l.By, l.Action, l.Subject, l.Detail})
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(form)
	return hex.EncodeToString(sum[:]), nil
}

const auditColumns = "id, at, by_name, action, subject, detail, hash"

func scanAudit(r row) (l AuditLine, err error) {
	return l, r.Scan(&l.ID, aTime(&l.At), &l.By, &l.Action, &l.Subject, &l.Detail, &l.Hash)
}

type auditHead struct {
	lines int64
	hash  string
}

func (s *Store) auditHead(ctx context.Context) (auditHead, error) {
	return one(ctx, s.reading(ctx), func(r row) (h auditHead, err error) { return h, r.Scan(&h.lines, &h.hash) },
		"the audit trail's head", "SELECT audited, audit_hash FROM state")
}

// Audit adds a line to the trail; ID and Hash are the trail's to give. Within
// Together, the line is there exactly when what it tells of is.
func (s *Store) Audit(ctx context.Context, l AuditLine) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		head, err := s.auditHead(ctx)
		if err != nil {
			return err
		}
		l.ID = head.lines + 1
		if l.Hash, err = l.after(head.hash); err != nil {
			return fmt.Errorf("writing the audit trail: %w", err)
		}
		if _, err := c.exec(ctx, "INSERT INTO audit ("+auditColumns+") VALUES ($1, $2, $3, $4, $5, $6, $7)",
			l.ID, millis(l.At), l.By, l.Action, l.Subject, l.Detail, l.Hash); err != nil {
			return err
		}
		_, err = c.exec(ctx, "UPDATE state SET audited = $1, audit_hash = $2", l.ID, l.Hash)
		return err
	})
}

// AuditFilter chooses lines; a zero field chooses all.
type AuditFilter struct {
	Since, Until        time.Time // of At: from, and before
	By, Action, Subject string
	After               int64 // lines after that ID
	Limit               int   // the first after After; where that is 0, the newest
}

// AuditLines gives lines of the trail, oldest first.
func (s *Store) AuditLines(ctx context.Context, f AuditFilter) ([]AuditLine, error) {
	var w where
	w.between("at", f.Since, f.Until)
	w.equal("by_name", f.By)
	w.equal("action", f.Action)
	w.equal("subject", f.Subject)
	order := "DESC"
	if f.After > 0 {
		order = "ASC"
		w.and("id > $", f.After)
	}
	lines, err := many(ctx, s.reading(ctx), scanAudit, "the audit trail",
		"SELECT "+auditColumns+" FROM audit"+w.clause()+" ORDER BY id "+order+limited(f.Limit), w.args...)
	if order == "DESC" {
		slices.Reverse(lines)
	}
	return lines, err
}

// AuditError says where the audit trail does not hold.
type AuditError struct {
	ID   int64
	What string
}

// Error is the one-line form.
func (e *AuditError) Error() string { return fmt.Sprintf("audit trail, line %d: %s", e.ID, e.What) }

// VerifyAudit follows the whole chain of the trail and gives how many lines
// hold; an *AuditError says where the first does not.
func (s *Store) VerifyAudit(ctx context.Context) (lines int64, err error) {
	head, err := s.auditHead(ctx)
	if err != nil {
		return 0, err
	}
	hash := ""
	for lines < head.lines {
		page, err := many(ctx, s.reading(ctx), scanAudit, "the audit trail",
			"SELECT "+auditColumns+" FROM audit WHERE id > $1 ORDER BY id LIMIT 1000", lines)
		if err != nil {
			return lines, err
		}
		for _, l := range page {
			if want, err := l.after(hash); err != nil || l.ID != lines+1 || l.Hash != want {
				return lines, &AuditError{lines + 1, "it was changed, or one before it was taken out"}
			}
			if lines, hash = l.ID, l.Hash; lines == head.lines && hash != head.hash {
				return lines, &AuditError{lines, "the trail does not end as it should"}
			}
		}
		if len(page) == 0 {
			return lines, &AuditError{lines + 1, "the trail ends too early"}
		}
	}
	return lines, nil
}
