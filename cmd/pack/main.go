// Pack builds what is installed on a station: the program for each
// architecture, as a Debian package with its service, its licences and a bill
// of materials.
//
//	go run ./cmd/pack --out DIR [--arch amd64,arm64,armhf] [--version V]
//
// The same commit gives the same bytes, on any machine with the same Go:
// nothing of the machine, the folder or the moment goes in. Dates are
// SOURCE_DATE_EPOCH or, without it, the last commit's.
//
// Packages are written by nfpm, whose some fifty modules are kept out of this
// project's own in nfpm.mod beside this file.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
)

func main() {
	if err := command(os.Stdout).Execute(); err != nil {
		fmt.Fprintln(os.Stderr, "pack:", err)
		os.Exit(1)
	}
}

func command(out io.Writer) *cobra.Command {
	p := &pack{stdout: out}
	var arches []string
	c := &cobra.Command{
		Use:   "pack --out DIR",
		Short: "Build the Debian packages",
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return p.run(c.Context(), arches) },

		SilenceUsage: true, SilenceErrors: true,
	}
	f := c.Flags()
	f.StringVar(&p.out, "out", "", "the `FOLDER` to put them in")
	f.StringSliceVar(&arches, "arch", []string{"amd64", "arm64", "armhf"}, "Debian's names of the `ARCHITECTURES`")
	f.StringVar(&p.version, "version", "0.1.0", "the `VERSION` of the package")
	f.StringVar(&p.root, "root", ".", "the project's `FOLDER`")
	_ = c.MarkFlagRequired("out")
	return c
}

// pack is one run of the command. Its fields do not change once it runs.
type pack struct {
	root, out, version string
	stdout             io.Writer

	date   time.Time // of everything in the packages
	commit string    // with a mark where the tree differs from it; empty outside git
}

func (p *pack) run(ctx context.Context, arches []string) error {
	targets, err := parseTargets(arches)
	if err != nil {
		return err
	}
	if p.out, err = filepath.Abs(p.out); err != nil {
		return err
	}
	if err := os.MkdirAll(p.out, 0o755); err != nil {
		return err
	}
	p.commit = p.git(ctx, "describe", "--always", "--dirty", "--abbrev=12", "--exclude=*")
	if p.date, err = p.dateOf(ctx); err != nil {
		return err
	}
	for _, prog := range programs {
		for _, t := range targets {
			file, err := p.pack(ctx, prog, t)
			if err != nil {
				return fmt.Errorf("packing %s for %s: %w", prog.name, t.debian, err)
			}
			fmt.Fprintln(p.stdout, file)
		}
	}
	return nil
}

// pack builds one program for one target and gives the package's file.
func (p *pack) pack(ctx context.Context, prog program, t target) (string, error) {
	stage, err := os.MkdirTemp("", "evenbell-pack-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(stage)
	binary := filepath.Join(stage, prog.name)
	if err := p.build(ctx, prog, t, binary); err != nil {
		return "", err
	}
	linked, err := p.linked(ctx, binary)
	if err != nil {
		return "", err
	}
	return p.deb(ctx, prog, t, stage, linked)
}

// git asks git about the tree; empty where there is none.
func (p *pack) git(ctx context.Context, args ...string) string {
	out, err := exec.CommandContext(ctx, "git", append([]string{"-C", p.root}, args...)...).Output()
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(out))
}

func (p *pack) dateOf(ctx context.Context) (time.Time, error) {
	text := os.Getenv("SOURCE_DATE_EPOCH")
	if text == "" {
		text = p.git(ctx, "log", "-1", "--format=%ct")
	}
	if text == "" {
		return time.Time{}, errors.New("no date: this is no git tree, so set SOURCE_DATE_EPOCH to seconds since 1970")
	}
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil || seconds < 0 {
		return time.Time{}, fmt.Errorf("SOURCE_DATE_EPOCH is %q; it must be seconds since 1970", text)
	}
	return time.Unix(seconds, 0).UTC(), nil
}
