// Package program is what our programs' command lines have in common: how a
// run ends, and where what is wrong is said.
//
// It may know coach's faults and the command library, and nothing of what a
// command does. The exit codes are a promise to scripts: 0 done, 1 failed, 2
// wrong usage, 3 the plan, protocol, class or station file is invalid.
// Messages go to standard error; results are the commands' own matter.
package program

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"evenbell/coach"
)

// The exit codes.
const (
	ExitFailed  = 1
	ExitUsage   = 2
	ExitInvalid = 3
)

// failed is an error that is not about usage.
type failed struct{ error }

func (f failed) Unwrap() error { return f.error }

// invalid is a file with faults.
type invalid struct{ faults []coach.Fault }

func (i invalid) Error() string { return fmt.Sprintf("%d fault(s)", len(i.faults)) }

// Failed marks an error as one that is not about usage: the program ends with
// [ExitFailed] and offers no help.
func Failed(err error) error { return failed{err} }

// Invalid is the error of a file with faults: they are printed one a line, and
// the program ends with [ExitInvalid]. None means that they were printed
// already.
func Invalid(faults []coach.Fault) error { return invalid{faults} }

// Faults gives the faults of an [Invalid] error.
func Faults(err error) ([]coach.Fault, bool) {
	var bad invalid
	ok := errors.As(err, &bad)
	return bad.faults, ok
}

// Run runs one command line of the program of that name and returns its exit
// code. An error that is neither Failed nor Invalid is about usage.
func Run(ctx context.Context, root *cobra.Command, args []string, stderr io.Writer) int {
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var f failed
	faults, bad := Faults(err)
	switch {
	case err == nil:
		return 0
	case bad:
		Print(stderr, faults)
		return ExitInvalid
	case errors.As(err, &f):
		fmt.Fprintf(stderr, "%s: %v\n", root.Name(), err)
		return ExitFailed
	default:
		fmt.Fprintf(stderr, "%s: %v\n%s --help says what there is.\n", root.Name(), err, root.Name())
		return ExitUsage
	}
}

// Print prints one fault a line.
func Print(w io.Writer, faults []coach.Fault) {
	for _, f := range faults {
		fmt.Fprintln(w, f)
	}
}
