// Desk is the staff's side: their server, what was done, what may be proposed
// next, and the limits all of it is judged by.
//
//	desk serve --data DIR --addr HOST:PORT
//	desk user add --data DIR --name "R. Okafor" --role supervisor
//	desk station code --data DIR --name "Bay 3"
//	desk plan send --data DIR --station "Bay 3" plan.toml
//	desk dose max --load "20 kg" --reps 10 --reserve 2
//	desk dose next --entries journal.jsonl --exercise biceps-curl --increments "1, 2, 3 kg"
//	desk protocol show
//	desk protocol check clinic.toml
//	desk timetable class.toml --picture class.svg --out plans
//
// It computes and proposes. It decides nothing: local protocol and licensed
// staff decide.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	shared "evenbell/cmd/program"
	"evenbell/coach"
)

// program is the command line as a struct, so that tests run the real one
// without a process.
type program struct {
	stdin          io.Reader
	stdout, stderr io.Writer
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := (&program{os.Stdin, os.Stdout, os.Stderr}).Run(ctx, os.Args[1:])
	stop()
	os.Exit(code)
}

// failed marks an error that is not about usage.
func failed(err error) error { return shared.Failed(err) }

// invalid is a file with faults.
func invalid(faults []coach.Fault) error { return shared.Invalid(faults) }

// Run runs one command line and returns its exit code.
func (p *program) Run(ctx context.Context, args []string) int {
	return shared.Run(ctx, p.root(), args, p.stderr)
}

func (p *program) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "desk",
		Short: "Plan, review and propose for people coached by stations",
		Long: `Desk is the staff's side of the stations: the limits of the clinic's protocol,
what load to begin with, and what may be proposed next from what was done.

It computes and proposes, with reasons. It is no monitor and no alarm system and
decides nothing: local protocol and licensed staff decide.`,
		SilenceErrors: true, SilenceUsage: true,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetOut(p.stdout)
	root.SetErr(p.stderr)
	root.SetIn(p.stdin)
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(p.demo(), p.serve(), p.user(), p.station(), p.plan(), p.dose(), p.protocol(), p.timetable(),
		p.importLog(), p.export(), p.backup(), p.restore(), p.audit())
	return root
}

// group is a command that only holds others.
func group(use, short, long string, under ...*cobra.Command) *cobra.Command {
	c := &cobra.Command{Use: use, Short: short, Long: long, Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			return fmt.Errorf("desk %s needs to be told what: desk %s --help says what there is", use, use)
		}}
	c.AddCommand(under...)
	return c
}
