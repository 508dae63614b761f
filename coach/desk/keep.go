package desk

import (
	"context"
	"time"

	"evenbell/coach/desk/store"
)

// Backup writes everything the desk knows to a file (ExportData).
func (d *Desk) Backup(ctx context.Context, who Actor, file string) error {
	if err := who.check(ExportData); err != nil {
		return err
	}
	if err := d.audit(ctx, who, ExportData, "", "backup"); err != nil {
		return err
	}
	return d.store.Backup(ctx, file)
}

// Restored notes that a backup was put in the place of what was here, and shuts
// out every login of then (ImportData). What was held since the backup comes
// back with the stations' logs; until then no station ends a hold because this
// desk does not name it, and an attention says so.
func (d *Desk) Restored(ctx context.Context, who Actor, file string) error {
	if err := who.check(ImportData); err != nil {
		return err
	}
	err := d.change(ctx, func(ctx context.Context) error {
		now := d.Time()
		last, err := d.store.AuditLines(ctx, store.AuditFilter{Limit: 1})
		if err != nil {
			return err
		}
		if err := d.raiseRestored(ctx, file, last, now); err != nil {
			return err
		}
		if err := d.store.SetSetting(ctx, restoredSetting, now.Format(time.RFC3339Nano)); err != nil {
			return err
		}
		if _, err := d.store.EndLoginsBefore(ctx, now, now); err != nil {
			return err
		}
		return d.audit(ctx, who, ImportData, "", "a backup was put back")
	})
	if err == nil {
		d.allStationsChanged()
	}
	return err
}
