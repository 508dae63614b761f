package desk

import (
	"context"
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/protocol"
)

// After a backup was put back the desk knows neither the plans it sent since nor
// their numbers, and the stations may still have them. An older plan must not
// take a newer one's place, and no number may stand for two plans. So a station
// keeps what it has until it was heard, and then, where that is a plan unknown
// here, until a new one is sent.

// restoredSetting holds when a backup was last put back.
const restoredSetting = "restored"

func (d *Desk) restoredAt(ctx context.Context) (at time.Time, err error) {
	text, err := d.store.Setting(ctx, restoredSetting)
	if err != nil || text == "" {
		return at, err
	}
	if at, err = time.Parse(time.RFC3339Nano, text); err != nil {
		err = fmt.Errorf("reading when a backup was put back: %w", err)
	}
	return at, err
}

// heardSince reports whether a station has said how it is since a moment.
func heardSince(st store.Station, at time.Time) bool {
	return at.IsZero() || st.Seen != nil && !st.Seen.Before(at)
}

// mayHaveNewer reports whether a station may have a plan that is newer than
// newest, and unknown here.
func mayHaveNewer(st store.Station, newest store.StationPlan, restored time.Time) bool {
	return !heardSince(st, restored) && newest.SentAt.Before(restored)
}

// unheardGap is how many numbers are left out for a station that was not heard
// since a backup was put back: far more plans than it can have been sent since
// the backup was made.
const unheardGap = 1000

// skipped is how many numbers are left out before the next plan for a station.
func (d *Desk) skipped(ctx context.Context, st store.Station) (int64, error) {
	restored, err := d.restoredAt(ctx)
	if err != nil || heardSince(st, restored) {
		return 0, err
	}
	newest, err := d.store.PlanFor(ctx, st.ID)
	if err == nil && !newest.SentAt.Before(restored) {
		return 0, nil // the gap is there already
	}
	return unheardGap, nil
}

// mostAhead is how far a station's number may be ahead of the desk's to be
// believed.
const mostAhead = 1_000_000

// knowPlan notes that a station has a plan newer than any that was sent from
// here, and raises an attention. all are those that were, newest first.
func (d *Desk) knowPlan(ctx context.Context, from link.Peer, all []store.StationPlan, version int64) error {
	newest := int64(0)
	if len(all) > 0 {
		newest = all[0].Version
	}
	switch {
	case version <= newest:
		return nil
	case version > newest+mostAhead:
		d.log.Warn("a station speaks of a plan that can't be", "station", from.Name, "version", version, "newest", newest)
		return nil
	}
	now := d.Time()
	if err := d.store.KnowPlan(ctx, from.ID, version, now); err != nil {
		return fmt.Errorf("noting plan %d of %s: %w", version, from.Name, err)
	}
	words := fmt.Sprintf("it has plan %d, and this desk sent none after %d: look whom it should coach there, and load the plan anew", version, newest)
	if newest == 0 {
		words = fmt.Sprintf("it has plan %d, and this desk sent it none: look whom it should coach there, and load the plan anew", version)
	}
	if _, _, err := d.store.RaiseAttention(ctx, store.Attention{Reason: store.PlanUnknown, Station: from.ID, Symptom: words, Raised: now, Delivered: now}); err != nil {
		return err
	}
	return d.auditAs(ctx, byDesk, "find a plan unknown here", from.Name, words)
}

// planHeard tells a station what it is to have, now that the desk knows what it
// has; and ends the attention for a plan unknown here once it has another.
func (d *Desk) planHeard(ctx context.Context, from link.Peer, version int64) error {
	d.stationChanged(from.ID)
	open, err := d.store.OpenAttentions(ctx)
	if err != nil {
		return err
	}
	for _, a := range open {
		if a.Reason != store.PlanUnknown || a.Station != from.ID {
			continue
		}
		all, err := d.store.StationPlansOf(ctx, from.ID)
		if err != nil {
			return err
		}
		known := version == 0 || slices.ContainsFunc(all, func(p store.StationPlan) bool { return p.Version == version && !p.Unknown() })
		if !known {
			d.attentionMoved(a)
		} else if err := d.closeItself(ctx, a.ID, "it has a plan of this desk's again, or none"); err != nil {
			return err
		}
	}
	return nil
}

// barScreened keeps everybody from a station whom today's screening says so of:
// whom a plan unknown here names can't be told.
func (l *Link) barScreened(all *forStations, s *link.State) error {
	holds, err := all.screened()
	s.Holds = append(s.Holds, holds...)
	return err
}

// screenedOut are those who must not start today, or not before a supervisor was
// asked.
func (d *Desk) screenedOut(ctx context.Context, day coach.Day) (out []link.Hold, err error) {
	all, err := d.store.Patients(ctx, store.PatientFilter{})
	if err != nil {
		return nil, err
	}
	screenings, err := d.store.ScreeningsOn(ctx, day)
	if err != nil {
		return nil, err
	}
	newest := map[int64]store.Screening{} // by patient
	for _, s := range screenings {
		newest[s.Patient] = s
	}
	for _, p := range all {
		if s, ok := newest[p.ID]; ok && s.Result.Verdict != protocol.MayStart {
			out = append(out, link.Hold{ID: -s.ID, Tag: p.Tag, Reason: link.HeldStaff, Since: s.At})
		}
	}
	return out, nil
}
