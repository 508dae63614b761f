package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"
)

// program is one command of ours that is installed.
type program struct {
	name        string // of the command and of its folder below files
	packageName string
	description string
}

// programs are what is packed.
var programs = []program{
	{"station", "evenbell-station", `coaches light resistance work by sound
 The station leads a person in cardiac rehabilitation through a session of
 light resistance work by tones and voice, and logs what was done.
 It paces and records; it is no monitor and no alarm system.`},
}

// target is a kind of machine.
type target struct {
	debian string   // its name there
	env    []string // its name for Go
	// loader is where Debian has the dynamic loader, where Go's default is
	// another: the program loads libasound at run time, so it needs one, and
	// Go assumes the name that was used before there was hard float.
	loader string
}

var targets = []target{
	{"amd64", []string{"GOARCH=amd64", "GOAMD64=v1"}, ""},
	{"arm64", []string{"GOARCH=arm64", "GOARM64=v8.0"}, ""},
	{"armhf", []string{"GOARCH=arm", "GOARM=7"}, "/lib/ld-linux-armhf.so.3"},
}

func parseTargets(names []string) ([]target, error) {
	var chosen []target
	for _, name := range names {
		i := slices.IndexFunc(targets, func(t target) bool { return t.debian == name })
		if i < 0 {
			return nil, fmt.Errorf("--arch %q: it is amd64, arm64 or armhf", name)
		}
		chosen = append(chosen, targets[i])
	}
	return chosen, nil
}

// build compiles a program so that nothing but source, Go and target decides
// its bytes.
func (p *pack) build(ctx context.Context, prog program, t target, out string) error {
	version := p.version
	if p.commit != "" {
		version += "+" + p.commit
	}
	link := []string{"-s", "-w", "-buildid=", "-X=main.version=" + version}
	if t.loader != "" {
		link = append(link, "-I="+t.loader)
	}
	c := exec.CommandContext(ctx, "go", "build", "-trimpath", "-buildvcs=false", "-mod=readonly",
		"-ldflags="+strings.Join(link, " "), "-o", out, "./cmd/"+prog.name)
	c.Dir = p.root
	c.Env = append(os.Environ(), append([]string{"GOOS=linux", "CGO_ENABLED=0", "GOFLAGS=", "GOEXPERIMENT="}, t.env...)...)
	if text, err := c.CombinedOutput(); err != nil {
		return fmt.Errorf("go build: %w\n%s", err, text)
	}
	return nil
}
