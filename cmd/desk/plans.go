package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	shared "evenbell/cmd/program"
	"evenbell/coach/desk"
)

func (p *program) plan() *cobra.Command {
	return group("plan", "Day plans for stations", `Plan hands day plans to stations.`, p.planSend(), p.planBundle())
}

func (p *program) planSend() *cobra.Command {
	var dir, name string
	c := &cobra.Command{
		Use:   `send --data DIR --station "Bay 3" PLAN.toml`,
		Short: "Hand an approved day plan to a station",
		Long: `Send checks a day plan by the clinic's protocol, keeps it, and hands it to the
station, at once or when it is next heard. A plan that nobody approved is refused.
A patient who is held stays held, whatever the plan says.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			text, err := os.ReadFile(args[0])
			if err != nil {
				return failed(fmt.Errorf("reading the plan: %w", err))
			}
			return p.with(c.Context(), dir, func(d *opened) error {
				sp, notes, err := d.SendFile(c.Context(), d.who, name, args[0], text)
				var bad desk.Faulty
				if !errors.As(err, &bad) {
					shared.Print(p.stderr, notes)
				}
				if err != nil {
					return err
				}
				fmt.Fprintf(p.stdout, "plan %d for %s: %s\n", sp.Version, name, strings.Join(sp.Tags, ", "))
				return nil
			})
		},
	}
	dataFlag(c, &dir)
	c.Flags().StringVar(&name, "station", "", "the station's `NAME`")
	_ = c.MarkFlagRequired("station")
	return c
}
