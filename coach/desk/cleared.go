package desk

import (
	"context"
	"errors"
	"fmt"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// noticeCleared ends the holds that a code told over the telephone ended at a
// station: those that came from what had happened there before. The stop and
// its end may both be news here, after weeks without a network; what happened
// after the code, or elsewhere, goes on holding.
func (d *Desk) noticeCleared(ctx context.Context, h happened, c coach.ClearData, n *news) error {
	if c.By != coach.ByTelephone || h.entry.Tag == "" {
		return nil
	}
	if err := d.store.TelephoneCodeSeen(ctx, h.station, c.Counter); err != nil {
		return err
	}
	open, err := d.openHoldsOf(ctx, h.entry.Tag)
	if err != nil {
		return err
	}
	for _, o := range open {
		a, err := d.store.Attention(ctx, o.Attention)
		if errors.Is(err, store.ErrNotFound) || err == nil && !h.follows(a) {
			continue
		}
		if err != nil {
			return err
		}
		note := fmt.Sprintf("by code %d, told over the telephone", c.Counter)
		if _, err := d.store.ClearHold(ctx, o.ID, coach.ByTelephone, note, h.at); err != nil {
			return fmt.Errorf("clearing %s by telephone: %w", h.entry.Tag, err)
		}
		n.held = true
	}
	return nil
}

// follows reports whether an entry came after what an attention is about, at
// the same station: by the numbers of one start of the program, else by time.
func (h happened) follows(a store.Attention) bool {
	switch {
	case a.Station != h.station || a.Entry.Epoch == "":
		return false
	case a.Entry.Epoch == h.entry.Epoch:
		return a.Entry.Seq < h.entry.Seq
	}
	return a.Raised.Before(h.at)
}
