package desk

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// raiseRestored says that a backup was put back. last is the newest line of its
// audit trail.
func (d *Desk) raiseRestored(ctx context.Context, file string, last []store.AuditLine, now time.Time) error {
	of := filepath.Base(file)
	if len(last) > 0 {
		zone, err := d.Zone(ctx)
		if err != nil {
			return err
		}
		of += ", which ends on " + last[0].At.In(zone).Format("2 January 2006, 15:04")
	}
	_, _, err := d.store.RaiseAttention(ctx, store.Attention{Reason: store.Restored, Station: everywhere, Raised: now, Delivered: now,
		Symptom: fmt.Sprintf("put back from %s; holds since then come back with the stations' logs, but plans, approvals and what was cleared do not: look through them", of)})
	return err
}

// comparedFor is how long after its marks were compared a station may take to
// see that it has entries to send once more.
const comparedFor = 10 * time.Second

// compared notes that a station has asked how far its log has come.
func (b *board) compared(from link.Peer) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if at := b.seat(from.ID); at.compared.IsZero() {
		at.compared = time.Now()
	}
}

// emptied notes that a station has nothing to send.
func (b *board) emptied(from link.Peer) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if at := b.seat(from.ID); !at.compared.IsZero() && time.Since(at.compared) >= comparedFor {
		at.whole = true
	}
}

// unheard are those of the stations whose log has not come in whole since this
// desk began. A backup is put back only while it is down.
func (b *board) unheard(all []store.Station) []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var out []string
	for _, st := range all {
		if s := b.stations[st.ID]; st.Enrolled != nil && st.Revoked == nil && (s == nil || !s.whole) {
			out = append(out, st.Name)
		}
	}
	return out
}

// notHeardSince says whose log is missing yet.
func (d *Desk) notHeardSince(all []store.Station) string {
	missing := d.board.unheard(all)
	if len(missing) == 0 {
		return "; every log has come in"
	}
	return "; not heard yet: " + strings.Join(missing, ", ")
}

// settleRestored closes the attention for a backup once every log has come in
// since.
func (d *Desk) settleRestored(ctx context.Context) error {
	open, err := d.store.OpenAttentions(ctx)
	if err != nil {
		return err
	}
	for _, a := range open {
		if a.Reason != store.Restored {
			continue
		}
		all, err := d.store.Stations(ctx)
		if err != nil {
			return err
		}
		if len(d.board.unheard(all)) > 0 {
			return nil
		}
		if err := d.closeItself(ctx, a.ID, "the log of every station has come in since"); err != nil {
			return err
		}
	}
	return nil
}
