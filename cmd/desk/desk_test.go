package main

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"desk": func() {
			os.Exit((&program{os.Stdin, os.Stdout, os.Stderr}).Run(context.Background(), os.Args[1:]))
		},
	})
}

func TestStories(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:  "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
		Setup: func(env *testscript.Env) error {
			env.Setenv("TZ", "UTC")
			if err := os.CopyFS(env.WorkDir, os.DirFS("../../testdata/classes")); err != nil {
				return err
			}
			return os.CopyFS(env.WorkDir, os.DirFS("../../testdata/dose"))
		},
	})
}

// exits runs a command that must end with the code given first.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE COMMAND ...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}
