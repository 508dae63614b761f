package desk

import (
	"context"
	"errors"
	"fmt"
	"io"

	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// Carried is what a bundle brought.
type Carried struct {
	Station string
	Entries int64 // that were not here yet
	Known   int64 // that were
}

// Import takes a station's log that was carried here (ImportData). It has
// effect once, however often it is brought. Refused where its key was never let
// in or was shut out, and where entries before it are missing: what comes before
// the gap is kept.
func (d *Desk) Import(ctx context.Context, who Actor, b *link.Bundle) (c Carried, err error) {
	if err := who.check(ImportData); err != nil {
		return c, err
	}
	st, err := d.store.StationByKey(ctx, b.Key())
	switch {
	case errors.Is(err, store.ErrNotFound):
		return c, refuse("bundle", "it is signed by a device that was never enrolled here (%s)", b.Name)
	case err != nil:
		return c, err
	case st.Revoked != nil:
		return c, refuse("bundle", "%s was revoked; its log is not taken", st.Name)
	}
	c.Station = st.Name
	for batch, err := range b.Batches() {
		if err != nil {
			return c, err
		}
		got, err := d.intake.take(ctx, len(batch.Records), func(ctx context.Context) (store.Appended, error) { return d.append(ctx, st.ID, batch) })
		switch {
		case err != nil:
			return c, err
		case got.Refused != "":
			return c, refuse("bundle", "an entry in it is none: %s", got.Refused)
		case got.Gap:
			return c, refuse("bundle", "the desk has this log up to entry %d of %s, and the bundle begins after %d; bring the one before it first", got.Mark.Seq, got.Mark.Epoch, batch.After)
		}
		c.Entries += int64(len(got.Added))
		c.Known += int64(len(batch.Records) - len(got.Added))
	}
	d.changed()
	return c, d.audit(ctx, who, ImportData, st.Name, fmt.Sprintf("%d entries by hand", c.Entries))
}

// CarryPlan writes what the link would tell a station, to be carried there
// (LoadPlan or SendPlanFile): its plan with the lines recorded for it, the
// holds, and how much of its log is here.
func (d *Desk) CarryPlan(ctx context.Context, who Actor, station string, key link.Key, w io.Writer) (link.State, error) {
	if !who.May(LoadPlan) {
		if err := who.check(SendPlanFile); err != nil {
			return link.State{}, err
		}
	}
	st, err := d.stationNamed(ctx, station)
	if err != nil {
		return link.State{}, err
	}
	if st.Key == "" || st.Revoked != nil {
		return link.State{}, refuse("station", "%s is not enrolled", st.Name)
	}
	l, peer := d.Link(), link.Peer{ID: st.ID, Name: st.Name, Key: st.Key}
	b := link.DeskBundle{Station: st.Key, Made: d.Time()}
	if b.State, err = l.State(ctx, peer); err != nil {
		return b.State, err
	}
	if b.State.Plan != 0 {
		if b.Plan, err = l.Plan(ctx, peer, b.State.Plan); err != nil {
			return b.State, err
		}
	}
	for _, hash := range b.State.Recordings {
		r, err := l.Recording(ctx, peer, hash)
		if err != nil {
			return b.State, err
		}
		b.Recordings = append(b.Recordings, r)
	}
	epochs, err := d.store.Epochs(ctx, st.ID)
	if err != nil {
		return b.State, err
	}
	for _, e := range epochs[max(0, len(epochs)-link.MaxEpochs):] {
		b.Marks = append(b.Marks, link.Mark{Epoch: e.Epoch, Seq: e.Mark})
	}
	if err := d.audit(ctx, who, LoadPlan, st.Name, fmt.Sprintf("plan %d by hand", b.State.Plan)); err != nil {
		return b.State, err
	}
	return b.State, link.WriteDeskBundle(w, key, b)
}
