package desk

import (
	"context"

	"evenbell/coach/desk/store"
)

// Audit is the audit trail, oldest first (SeeAudit).
func (d *Desk) Audit(ctx context.Context, who Actor, f store.AuditFilter) ([]store.AuditLine, error) {
	if err := who.check(SeeAudit); err != nil {
		return nil, err
	}
	return d.store.AuditLines(ctx, f)
}
