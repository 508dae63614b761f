package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"evenbell/coach/link"
)

func (p *program) importLog() *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use: "import --data DIR FILE", Short: "Take a station's log that was carried here",
		Long: `Import takes the file that "station journal --bundle FILE" wrote on a device. What
is in it has effect once, however often it is brought, and stops in it are shown
like any others, with the time they happened.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			f, err := os.Open(args[0])
			if err != nil {
				return failed(err)
			}
			defer f.Close()
			b, err := link.ReadBundle(f)
			if err != nil {
				return failed(fmt.Errorf("%s: %w", args[0], err))
			}
			return p.with(c.Context(), dir, func(d *opened) error {
				got, err := d.Import(c.Context(), d.who, b)
				if err != nil {
					return fmt.Errorf("%s: %w", args[0], err)
				}
				fmt.Fprintf(p.stdout, "%s: %d new entries, %d were here already\n", got.Station, got.Entries, got.Known)
				return nil
			})
		},
	}
	dataFlag(c, &dir)
	return c
}

func (p *program) planBundle() *cobra.Command {
	var dir, name string
	c := &cobra.Command{
		Use:   `bundle --data DIR --station "Bay 3" FILE`,
		Short: "Write a station's plan to a file, to be carried there",
		Long: `Bundle writes what the link would tell a station: its day plan, who is held, and how
much of its log is here. On the device: station plan take FILE --data DIR.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return p.with(c.Context(), dir, func(d *opened) error {
				var told link.State
				err := p.written(args[0], func(w io.Writer) (err error) {
					told, err = d.CarryPlan(c.Context(), d.who, name, d.key, w)
					return err
				})
				if err != nil {
					return err
				}
				fmt.Fprintf(p.stdout, "plan %d for %s, %d held\n", told.Plan, name, len(told.Holds))
				return nil
			})
		},
	}
	dataFlag(c, &dir)
	c.Flags().StringVar(&name, "station", "", "the station's `NAME`")
	_ = c.MarkFlagRequired("station")
	return c
}
