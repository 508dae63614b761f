package main

import (
	"context"
	"debug/buildinfo"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// module is code that is linked into a program, with its terms.
type module struct {
	path, version string
	sum           string // Go's checksum of it; empty for Go itself
	spdx          string // its licence, by its SPDX identifier
	terms         []terms
}

// terms is a file in which somebody states the terms of their work.
type terms struct {
	name string
	text []byte
}

// linked lists what a binary says it was made of, Go first, then by path.
func (p *pack) linked(ctx context.Context, binary string) ([]module, error) {
	info, err := buildinfo.ReadFile(binary)
	if err != nil {
		return nil, err
	}
	folders, err := p.folders(ctx)
	if err != nil {
		return nil, err
	}
	ms := []module{{path: "std", version: strings.TrimPrefix(info.GoVersion, "go")}}
	for _, d := range info.Deps {
		if d.Replace != nil {
			d = d.Replace
		}
		ms = append(ms, module{path: d.Path, version: d.Version, sum: d.Sum})
	}
	for i := range ms {
		if err := ms[i].readTerms(folders[ms[i].path]); err != nil {
			return nil, fmt.Errorf("the licence of %s: %w", ms[i].path, err)
		}
	}
	return ms, nil
}

// folders gives where Go has each module's source; Go's own under "std".
func (p *pack) folders(ctx context.Context) (map[string]string, error) {
	folders := map[string]string{}
	root, err := p.goTool(ctx, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	folders["std"] = strings.TrimSpace(string(root))
	list, err := p.goTool(ctx, "list", "-mod=readonly", "-deps", "-json=Module", "./cmd/...")
	if err != nil {
		return nil, err
	}
	for d := json.NewDecoder(strings.NewReader(string(list))); d.More(); {
		var in struct{ Module *struct{ Path, Dir string } }
		if err := d.Decode(&in); err != nil {
			return nil, fmt.Errorf("reading the list of modules: %w", err)
		}
		if in.Module != nil {
			folders[in.Module.Path] = in.Module.Dir
		}
	}
	return folders, nil
}

func (p *pack) goTool(ctx context.Context, args ...string) ([]byte, error) {
	c := exec.CommandContext(ctx, "go", args...)
	c.Dir = p.root
	c.Env = append(os.Environ(), "GOOS=linux", "CGO_ENABLED=0", "GOFLAGS=")
	out, err := c.Output()
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		return nil, fmt.Errorf("go %s: %w\n%s", args[0], err, exit.Stderr)
	}
	return out, err
}

// statesTerms is how files are called in which people state their terms.
var statesTerms = regexp.MustCompile(`(?i)^((un)?licen[cs]e|copying|copyright|notice|patents|.*-licen[cs]e)([.-].*)?$`)

// readTerms reads every such file at a module's root.
func (m *module) readTerms(folder string) error {
	if folder == "" {
		return errors.New("go does not know where its source is")
	}
	files, err := os.ReadDir(folder) // in order of name
	if err != nil {
		return err
	}
	for _, f := range files {
		if f.IsDir() || !statesTerms.MatchString(f.Name()) || strings.HasSuffix(f.Name(), ".go") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(folder, f.Name()))
		if err != nil {
			return err
		}
		m.terms = append(m.terms, terms{f.Name(), text})
	}
	for _, t := range m.terms {
		if m.spdx == "" {
			m.spdx = identify(t.text)
		}
	}
	if m.spdx == "" {
		return fmt.Errorf("none is known among %d file(s) in %s", len(m.terms), folder)
	}
	return nil
}

// phrases tell the licences that are linked here apart, each by words that
// its text has and none above it has.
var phrases = []struct {
	spdx  string
	words []string
}{
	{"Apache-2.0", []string{"Apache License", "Version 2.0"}},
	{"Unlicense", []string{"This is free and unencumbered software released into the public domain"}},
	{"MPL-2.0", []string{"Mozilla Public License", "2.0"}},
	{"ISC", []string{"Permission to use, copy, modify, and/or distribute this software for any purpose with or without fee"}},
	{"MIT", []string{"Permission is hereby granted, free of charge", "without restriction", "shall be included in all copies"}},
	{"BSD-3-Clause", []string{"Redistribution and use in source and binary forms", "endorse or promote products"}},
	{"BSD-2-Clause", []string{"Redistribution and use in source and binary forms"}},
}

// identify names the licence of a text; empty where it is none of those.
func identify(text []byte) string {
	flat := strings.Join(strings.Fields(string(text)), " ")
	for _, p := range phrases {
		if !slices.ContainsFunc(p.words, func(w string) bool { return !strings.Contains(flat, w) }) {
			return p.spdx
		}
	}
	return ""
}
