package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"evenbell/coach/link"
)

func (p *program) enrol() *cobra.Command {
	var desk, code, data string
	c := &cobra.Command{
		Use:   "enrol --code CODE --data DIR",
		Short: "Make this device known to a desk",
		Long: `Enrol makes this device known to a desk by the one-time code that "desk station
code" printed there. The code itself is never sent. What the desk gives is kept
in the data folder, whole or not at all; a station that runs takes it up by
itself. Without --desk the local network is asked for one.

Compare the key it prints with the one that "desk station code" printed.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return p.enrolStation(c.Context(), desk, code, data) },
	}
	c.Flags().StringVar(&desk, "desk", "", "the desk's `ADDRESS`, such as https://desk.clinic.example:8443")
	c.Flags().StringVar(&code, "code", "", "the one-time `CODE`, sixteen letters and digits")
	c.Flags().StringVar(&data, "data", "", "the `FOLDER` the station keeps its log in")
	_ = c.MarkFlagRequired("code")
	_ = c.MarkFlagRequired("data")
	return c
}

func (p *program) enrolStation(ctx context.Context, desk, code, data string) error {
	if _, err := link.ParseCode(code); err != nil {
		return err
	}
	if desk == "" || desk == link.Discovery {
		found, err := lookForDesk(ctx)
		if err != nil {
			return failed(err)
		}
		desk = found
	}
	if err := link.CheckURL(desk); err != nil {
		return err
	}
	before, err := link.ReadIdentity(data)
	if err != nil && !errors.Is(err, link.ErrNotEnrolled) {
		p.say("station: %v", err) // it is about to be replaced
	}
	id, err := link.Enrol(ctx, desk, code, data)
	if err != nil {
		return failed(err)
	}
	fmt.Fprintf(p.stdout, "enrolled at %s as %s\n", desk, id.Name)
	fmt.Fprintf(p.stdout, "the desk's key   %s\n", id.Desk)
	fmt.Fprintf(p.stdout, "this station's   %s\n", id.Key.Fingerprint())
	if before != nil {
		fmt.Fprintf(p.stdout, "it was enrolled as %s before; that key is no longer used\n", before.Name)
	}
	return nil
}

// lookForDesk asks the local network for the one desk there is.
func lookForDesk(ctx context.Context) (string, error) {
	all, err := link.Discover(ctx, func([]link.Found) bool { return false })
	switch {
	case err != nil:
		return "", err
	case len(all) == 0:
		return "", errors.New("no desk is announced on the local network; name it with --desk")
	case len(all) > 1:
		said := fmt.Sprintf("there are %d desks on the local network; name one with --desk:", len(all))
		for _, f := range all {
			said += fmt.Sprintf("\n  https://%s  %s, key %s", f.Host, f.Name, f.Key)
		}
		return "", errors.New(said)
	}
	return "https://" + all[0].Host, nil
}
