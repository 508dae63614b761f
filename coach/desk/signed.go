package desk

import "context"

// Signed are the clinic's own protocols as they came into force, the oldest
// first, for whoever asks what held at a time. A version signed twice is there
// twice.
func (d *Desk) Signed(ctx context.Context) ([]ProtocolVersion, error) {
	signed, err := d.signatures(ctx)
	if err != nil {
		return nil, err
	}
	all, err := d.store.Protocols(ctx)
	if err != nil {
		return nil, err
	}
	var out []ProtocolVersion
	for _, s := range signed {
		for _, p := range all {
			if p.Version == s.Version {
				out = append(out, readVersion(p, []signature{s}))
			}
		}
	}
	return out, nil
}

// How the audit trail tells of logins and logouts, for whoever asks who was on
// duty at a time.
const (
	AuditLogin  = auditLogin
	AuditLogout = auditLogout
)
