package desk

import "context"

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
// out every login of then (ImportData).
func (d *Desk) Restored(ctx context.Context, who Actor, file string) error {
	if err := who.check(ImportData); err != nil {
		return err
	}
	return d.change(ctx, func(ctx context.Context) error {
		now := d.Time()
		if _, err := d.store.EndLoginsBefore(ctx, now, now); err != nil {
			return err
		}
		return d.audit(ctx, who, ImportData, "", "a backup was put back")
	})
}
