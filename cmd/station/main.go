// Station is the small headless device that coaches a session of light
// resistance work by sound, and the tools around it.
//
//	station check PLAN.toml             every fault of a plan at once
//	station render PLAN.toml --wav F    the whole session as a file
//	station rehearse                    the demo session, keys for the buttons
//	station run --config station.toml   the device: button box, sound, log
//	station selftest --config F         try the device's parts, one after the other
//	station journal --data DIR          the log on this device
//	station catalogue                   the exercises it can coach
//
// It paces and records. It is no monitor and no alarm system: local protocol
// and licensed staff decide.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
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

// version of the program, written into every log; cmd/pack sets it, with the
// commit, when it links.
var version = "0.1.0"

// main is a struct so that tests run the real program without a process.
type program struct {
	stdin          io.Reader
	stdout, stderr io.Writer
}

// collectAt is how far the heap may grow, in percent, before it is collected:
// a station is a small machine, and half of Go's default costs it no time that
// matters.
const collectAt = 50

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(collectAt)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := (&program{os.Stdin, os.Stdout, os.Stderr}).Run(ctx, os.Args[1:])
	stop()
	os.Exit(code)
}

// invalid is a file with faults.
type invalid struct{ faults []coach.Fault }

func (i invalid) Error() string {
	return fmt.Sprintf("%d fault(s)", len(i.faults))
}

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
		p.faults(p.stderr, bad.faults)
		return exitInvalid
	case errors.As(err, &f):
		fmt.Fprintf(p.stderr, "station: %v\n", err)
		return exitFailed
	default:
		fmt.Fprintf(p.stderr, "station: %v\nstation --help says what there is.\n", err)
		return exitUsage
	}
}

func (p *program) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "station",
		Short: "Coach a session of light resistance work by sound",
		Long: `Station leads a person through a session of light resistance work by tones and
voice, from a plan file that staff wrote and approved.

It paces and records. It is no monitor and no alarm system: it does not watch
the person and calls nobody. Local protocol and licensed staff decide.`,
		SilenceErrors: true, SilenceUsage: true, Version: version,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetOut(p.stdout)
	root.SetErr(p.stderr)
	root.SetIn(p.stdin)
	root.CompletionOptions.DisableDefaultCmd = true
	root.AddCommand(p.check(), p.render(), p.rehearse(), p.run(), p.selftest(), p.journal(), p.catalogue())
	return root
}

// faults prints one fault a line.
func (p *program) faults(w io.Writer, fs []coach.Fault) {
	for _, f := range fs {
		fmt.Fprintln(w, f)
	}
}

// say prints a message for the person at the terminal.
func (p *program) say(format string, args ...any) {
	fmt.Fprintf(p.stderr, format+"\n", args...)
}
