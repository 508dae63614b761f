package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"

	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// bundleLog writes what the desk lacks to a file, to be carried there.
func (p *program) bundleLog(data, file string) (err error) {
	id, err := link.ReadIdentity(data)
	if err != nil {
		return failed(fmt.Errorf("a bundle is signed with the key this device was enrolled with: %w", err))
	}
	r, err := journal.OpenReader(data)
	if err != nil {
		return failed(err)
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	out, err := renameio.NewPendingFile(file, renameio.WithPermissions(0o600))
	if err != nil {
		return failed(fmt.Errorf("writing the bundle: %w", err))
	}
	defer out.Cleanup()
	boot, err := journal.BootID()
	if err != nil {
		return failed(err)
	}
	n, err := link.WriteBundle(out, id, r, journal.SystemClock{}.Now(), boot)
	if err == nil {
		err = out.CloseAtomicallyReplace()
	}
	if err != nil {
		return failed(fmt.Errorf("writing the bundle: %w", err))
	}
	p.say("%d entr%s of %s in %s; they stay here until the desk has said that it has them.", n, ies(n), id.Name, file)
	return nil
}

func ies(n int) string {
	if n == 1 {
		return "y"
	}
	return "ies"
}

func (p *program) planCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "plan",
		Short: "Take a plan that was carried here",
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(p.takePlan())
	return c
}

func (p *program) takePlan() *cobra.Command {
	var data string
	c := &cobra.Command{
		Use:   "take FILE --data DIR",
		Short: "Take what the desk wrote for this station",
		Long: `Take takes a bundle that "desk plan bundle" wrote for this station: its day plan,
the holds in force and what was cleared, and how much of the log the desk has.
It is taken only from the desk that let this device in, only where it is newer
than the last, and by a running station only between two sessions.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return p.takeBundle(args[0], data) },
	}
	c.Flags().StringVar(&data, "data", "", "the `FOLDER` the station keeps its log in")
	_ = c.MarkFlagRequired("data")
	return c
}

func (p *program) takeBundle(file, data string) error {
	id, err := link.ReadIdentity(data)
	if err != nil {
		return failed(err)
	}
	in, err := os.Open(file)
	if err != nil {
		return failed(err)
	}
	defer in.Close()
	b, err := link.ReadDeskBundle(in, id)
	if err != nil {
		return failed(fmt.Errorf("%s: %w", file, err))
	}
	kept, err := link.OpenKeptPlan(data)
	if err != nil {
		p.say("station: %v", err) // it is about to be replaced
	}
	if err := kept.TakeBundle(b); err != nil {
		return failed(err)
	}
	if b.Plan.Version == 0 {
		fmt.Fprintf(p.stdout, "no plan for %s; it will coach nobody until one comes\n", b.State.Name)
	} else {
		fmt.Fprintf(p.stdout, "plan %d for %s\n", b.Plan.Version, b.State.Name)
	}
	fmt.Fprintf(p.stdout, "%d tag%s held\n", len(b.State.Holds), plural(len(b.State.Holds)))
	return nil
}
