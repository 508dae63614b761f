package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// scratch is a folder for what several tests use. It goes when all are done.
var scratch string

// inScratch runs the tests with a scratch folder.
type inScratch struct{ m *testing.M }

func (s inScratch) Run() int {
	dir, err := os.MkdirTemp("", "station-test")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	scratch = dir
	flag.Set("test.parallel", "4") // most of them wait more than they work; a flag given by hand comes after
	return s.m.Run()
}

func TestMain(m *testing.M) {
	testscript.Main(inScratch{m}, map[string]func(){
		"station": func() {
			os.Exit((&program{os.Stdin, os.Stdout, os.Stderr}).Run(context.Background(), os.Args[1:]))
		},
	})
}

func TestStories(t *testing.T) {
	t.Parallel()
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(env *testscript.Env) error {
			plans, err := os.ReadDir("../../testdata/plans")
			if err != nil {
				return err
			}
			for _, p := range plans {
				text, err := os.ReadFile("../../testdata/plans/" + p.Name())
				if err != nil {
					return err
				}
				if err := os.WriteFile(env.WorkDir+"/"+p.Name(), text, 0o644); err != nil {
					return err
				}
			}
			return nil
		},
	})
}
