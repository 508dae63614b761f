package desk

import (
	"cmp"
	"context"
	"fmt"

	"evenbell/coach/desk/store"
)

// brokenWords tells a break from any other.
func brokenWords(b store.Break) string {
	return fmt.Sprintf("%s (%s %d)", b.What, cmp.Or(b.Epoch, "no epoch"), b.Seq)
}

// closeMended closes the attentions for what was missing in a log and has come
// after all, as it does where a station sends its log again after an older
// backup was put back.
func (d *Desk) closeMended(ctx context.Context, open []store.Attention) error {
	for _, a := range open {
		if a.Reason != store.LogDamaged {
			continue
		}
		all, err := d.store.Breaks(ctx, a.Station)
		if err != nil {
			return err
		}
		for _, b := range all {
			if b.Mended != nil && brokenWords(b) == a.Symptom {
				if err := d.closeItself(ctx, a.ID, "what was missing came after all"); err != nil {
					return err
				}
				break
			}
		}
	}
	return nil
}
