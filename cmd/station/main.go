// Station is the small headless device that coaches a session of light
// resistance work by sound, and the tools around it.
//
//	station check PLAN.toml             every fault of a plan at once
//	station render PLAN.toml --wav F    the whole session as a file
//	station rehearse                    the demo session, keys for the buttons
//	station run --config station.toml   the device: button box, sound, log
//	station selftest --config F         try the device's parts, one after the other
//	station journal --data DIR          the log on this device
//	station enrol --code C --data DIR   make this device known to a desk
//	station plan take FILE --data DIR   take a plan that was carried here
//	station catalogue                   the exercises it can coach
//
// It paces and records. It is no monitor and no alarm system: local protocol
// and licensed staff decide.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"github.com/spf13/cobra"

	shared "evenbell/cmd/program"
	"evenbell/coach"
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
	root.AddCommand(p.check(), p.render(), p.rehearse(), p.run(), p.selftest(), p.journal(), p.enrol(), p.planCommand(), p.catalogue())
	return root
}

// say prints a message for the person at the terminal.
func (p *program) say(format string, args ...any) {
	fmt.Fprintf(p.stderr, format+"\n", args...)
}
