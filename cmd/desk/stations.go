package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

func (p *program) station() *cobra.Command {
	return group("station", "The stations that may come in", `Station looks after which devices the desk knows.`,
		p.stationCode(), p.stationList(), p.stationRevoke())
}

func (p *program) stationCode() *cobra.Command {
	var dir, name string
	c := &cobra.Command{
		Use:   `code --data DIR --name "Bay 3"`,
		Short: "A one-time code that lets a station in",
		Long: `Code makes a code for the station of that name, which is added if there is none.
It is good once, for ten minutes. The first line printed is the code, the second
the fingerprint of this desk's key; on the device:

  station enrol --desk HOST:PORT --code CODE --data DIR

A station that is enrolled already keeps its log; its old key ends when the new
code is used.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return p.with(c.Context(), dir, func(d *opened) error {
				code, fingerprint, until, err := d.Code(c.Context(), d.who, name)
				if err != nil {
					return err
				}
				fmt.Fprintf(p.stdout, "%s\n%s\n", code, fingerprint)
				fmt.Fprintf(p.stderr, "good once, until %s\n", until.Local().Format("15:04:05"))
				return nil
			})
		},
	}
	dataFlag(c, &dir)
	c.Flags().StringVar(&name, "name", "", "the station's `NAME`, such as \"Bay 3\"")
	_ = c.MarkFlagRequired("name")
	return c
}

func (p *program) stationList() *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use: "list --data DIR", Short: "The stations the desk knows",
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return p.with(c.Context(), dir, func(d *opened) error {
				all, err := d.Stations(c.Context(), d.who)
				for _, s := range all {
					state := "not enrolled yet"
					switch {
					case s.Revoked != nil:
						state = "revoked " + s.Revoked.Local().Format("2006-01-02 15:04")
					case s.Enrolled != nil:
						state = "enrolled, key " + s.Key
					}
					if s.Seen != nil {
						state += ", last heard " + s.Seen.Local().Format("2006-01-02 15:04:05")
					}
					fmt.Fprintf(p.stdout, "%s: %s\n", s.Name, state)
				}
				return err
			})
		},
	}
	dataFlag(c, &dir)
	return c
}

func (p *program) stationRevoke() *cobra.Command {
	var dir, name string
	c := &cobra.Command{
		Use: `revoke --data DIR --name "Bay 3"`, Short: "Let a station in no more",
		Long: `Revoke shuts a station out at once. Its log stays at the desk; a new code lets a
device in again under that name.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return p.with(c.Context(), dir, func(d *opened) error { return d.Revoke(c.Context(), d.who, name) })
		},
	}
	dataFlag(c, &dir)
	c.Flags().StringVar(&name, "name", "", "the station's `NAME`")
	_ = c.MarkFlagRequired("name")
	return c
}
