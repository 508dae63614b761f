package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"evenbell/coach/desk/store"
)

func (p *program) backup() *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use: "backup --data DIR FILE", Short: "A consistent copy, also while serving",
		Long: `Backup writes everything the desk knows, its key included, to a file that appears
whole or not at all. Keep it as you keep patients' records: it has their names.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return p.with(c.Context(), dir, func(d *opened) error { return d.Backup(c.Context(), d.who, args[0]) })
		},
	}
	dataFlag(c, &dir)
	return c
}

func (p *program) restore() *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use: "restore --data DIR FILE", Short: "Put a backup back; refused while serving",
		Long: `Restore puts a backup in the place of what is in the folder, which it keeps beside
it. Stations send again what the backup does not have.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			kept, err := store.Restore(c.Context(), dir, args[0])
			if errors.Is(err, store.ErrInUse) {
				err = fmt.Errorf("%w; stop desk serve first", err)
			}
			if err != nil {
				return failed(err)
			}
			if kept != "" {
				fmt.Fprintf(p.stderr, "what was there is kept in %s\n", kept)
			}
			return p.with(c.Context(), dir, func(d *opened) error { return d.Restored(c.Context(), d.who, args[0]) })
		},
	}
	dataFlag(c, &dir)
	return c
}

func (p *program) audit() *cobra.Command {
	return group("audit", "The audit trail", `Audit looks at who did what.`, p.auditVerify())
}

func (p *program) auditVerify() *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use: "verify --data DIR", Short: "Check that no line was changed, taken out or put in",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return p.with(c.Context(), dir, func(d *opened) error {
				n, err := d.store.VerifyAudit(c.Context())
				if err != nil {
					return err
				}
				fmt.Fprintf(p.stdout, "whole: %d lines\n", n)
				return nil
			})
		},
	}
	dataFlag(c, &dir)
	return c
}
