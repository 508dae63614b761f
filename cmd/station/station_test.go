package main

import (
	"context"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"station": func() {
			os.Exit((&program{os.Stdin, os.Stdout, os.Stderr}).Run(context.Background(), os.Args[1:]))
		},
	})
}

func TestStories(t *testing.T) {
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
