// Desk is the staff's side: what was done, what may be proposed next, and the
// limits both are judged by.
//
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
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"evenbell/coach"
)

// The exit codes: 0 done, 1 failed, 2 wrong usage, 3 a file is invalid.
const (
	exitFailed  = 1
	exitUsage   = 2
	exitInvalid = 3
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

// invalid is a file with faults.
type invalid struct{ faults []coach.Fault }

func (i invalid) Error() string { return fmt.Sprintf("%d fault(s)", len(i.faults)) }

// failed is an error that is not about usage.
type failed struct{ error }

func (f failed) Unwrap() error { return f.error }

// Run runs one command line and returns its exit code.
func (p *program) Run(ctx context.Context, args []string) int {
	root := p.root()
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var bad invalid
	var f failed
	switch {
	case err == nil:
		return 0
	case errors.As(err, &bad):
		for _, fault := range bad.faults {
			fmt.Fprintln(p.stderr, fault)
		}
		return exitInvalid
	case errors.As(err, &f):
		fmt.Fprintf(p.stderr, "desk: %v\n", err)
		return exitFailed
	default:
		fmt.Fprintf(p.stderr, "desk: %v\ndesk --help says what there is.\n", err)
		return exitUsage
	}
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
	root.AddCommand(p.dose(), p.protocol(), p.timetable())
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
