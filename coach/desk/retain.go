package desk

import (
	"context"
	"strings"
)

// Retain forgets who left longer ago than the clinic keeps data, but for legal
// holds; it gives their tags. Run calls it every hour.
func (d *Desk) Retain(ctx context.Context) ([]string, error) {
	c, err := d.Clinic(ctx)
	if err != nil || c.Retention == 0 {
		return nil, err
	}
	today, err := d.Today(ctx)
	if err != nil {
		return nil, err
	}
	tags, err := d.store.Forget(ctx, today.AddDays(-c.Retention), byDesk, d.Time())
	if err == nil && len(tags) > 0 {
		d.log.Info("forgotten", "tags", strings.Join(tags, ", "), "days", c.Retention)
		d.changed()
	}
	return tags, err
}
