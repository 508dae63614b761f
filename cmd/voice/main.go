// Command voice makes and checks voice packs: the recordings of every clip a
// script has. It knows the script, the speech engine and the encoder; a
// station only ever sees the pack it makes.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"

	"github.com/spf13/cobra"
)

// errUsage marks what exits with 2: the command was put wrongly.
var errUsage = errors.New("wrong usage")

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], os.Stdout, os.Stderr))
}

// run is the whole program: 0 done, 1 failed, 2 wrong usage.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := &cobra.Command{
		Use:           "voice",
		Short:         "Make and check voice packs",
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.AddCommand(buildCommand(), sheetCommand(), checkCommand())
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return fmt.Errorf("%w: %w", errUsage, err) })
	started := false
	root.PersistentPreRun = func(*cobra.Command, []string) { started = true }
	err := root.ExecuteContext(ctx)
	if err == nil {
		return 0
	}
	fmt.Fprintln(stderr, "voice:", err)
	if errors.Is(err, errUsage) || !started {
		return 2
	}
	return 1
}
