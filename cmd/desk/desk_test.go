package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// scratch is a folder for what several tests use. It goes when all are done.
var scratch string

// inScratch runs the tests with a scratch folder.
type inScratch struct{ m *testing.M }

func (s inScratch) Run() int {
	dir, err := os.MkdirTemp("", "desk-test")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	scratch = dir
	return s.m.Run()
}

func TestMain(m *testing.M) {
	testscript.Main(inScratch{m}, map[string]func(){
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
