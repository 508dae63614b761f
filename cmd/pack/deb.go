package main

import (
	"bytes"
	"context"
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
	"time"
)

// files are what a package has beside the program.
//
//go:embed files
var files embed.FS

// stage is a package as it will be on the disk of a station, and what nfpm
// must be told of it.
type stage struct {
	folder string
	date   time.Time
	recipe recipe
}

// recipe is nfpm's, written as JSON, which every reader of YAML reads.
type recipe struct {
	Name        string            `json:"name"`
	Arch        string            `json:"arch"`
	Platform    string            `json:"platform"`
	Version     string            `json:"version"`
	Section     string            `json:"section"`
	Priority    string            `json:"priority"`
	Maintainer  string            `json:"maintainer"`
	Description string            `json:"description"`
	MTime       string            `json:"mtime"`
	Depends     []string          `json:"depends"`
	Recommends  []string          `json:"recommends"`
	Contents    []content         `json:"contents"`
	Scripts     map[string]string `json:"scripts"`
}

type content struct {
	Src      string   `json:"src"`
	Dst      string   `json:"dst"`
	Type     string   `json:"type,omitempty"`
	FileInfo fileInfo `json:"file_info"`
}

type fileInfo struct {
	Mode  fs.FileMode `json:"mode"`
	Owner string      `json:"owner"`
	Group string      `json:"group"`
	MTime string      `json:"mtime"`
}

// conffile marks what dpkg must not overwrite once somebody has changed it.
const conffile = "config|noreplace"

// add puts a file into the package; content lies in a file of the stage.
func (s *stage) add(dst string, mode fs.FileMode, kind string, text []byte) error {
	src := filepath.Join(s.folder, "root", dst)
	if err := os.MkdirAll(filepath.Dir(src), 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(src, text, 0o644); err != nil {
		return err
	}
	s.addFile(src, dst, mode, kind)
	return nil
}

func (s *stage) addFile(src, dst string, mode fs.FileMode, kind string) {
	s.recipe.Contents = append(s.recipe.Contents, content{src, dst, kind,
		fileInfo{mode, "root", "root", s.date.Format(time.RFC3339)}})
}

// deb writes the Debian package of a program that has been built into folder.
func (p *pack) deb(ctx context.Context, prog program, t target, folder string, linked []module) (string, error) {
	s := &stage{folder: folder, date: p.date, recipe: recipe{
		Name: prog.packageName, Arch: t.debian, Platform: "linux", Version: p.version,
		Section: "misc", Priority: "optional", Maintainer: "Evenbell <evenbell@localhost>", Description: prog.description,
		MTime:      p.date.Format(time.RFC3339),
		Depends:    []string{"libc6 (>= 2.31)", "systemd (>= 247)", "tzdata"},
		Recommends: []string{"libasound2 | libasound2t64", "flite | espeak-ng", "udev"},
		Scripts:    map[string]string{}}}
	binary := filepath.Join(folder, prog.name)
	s.addFile(binary, "/usr/bin/"+prog.name, 0o755, "")
	doc := "/usr/share/doc/" + prog.packageName
	for _, step := range []func() error{
		func() error { return s.addService(prog, doc) },
		func() error { return p.addTerms(s, doc, linked) },
		func() error { return p.addBOM(s, prog, t, doc, binary, linked) },
	} {
		if err := step(); err != nil {
			return "", err
		}
	}
	return p.nfpm(ctx, s)
}

// addService adds what stands in files.
func (s *stage) addService(prog program, doc string) error {
	name := prog.packageName
	for _, f := range []struct{ file, dst, kind string }{
		{name + ".service", "/lib/systemd/system/" + name + ".service", ""},
		{"sysusers.conf", "/usr/lib/sysusers.d/" + name + ".conf", ""},
		{"udev.rules", "/lib/udev/rules.d/60-" + name + ".rules", ""},
		{"station.toml", "/etc/evenbell/station.toml", conffile},
		{"README", doc + "/README", ""},
	} {
		text, err := files.ReadFile(path.Join("files", prog.name, f.file))
		if err != nil {
			return err
		}
		if err := s.add(f.dst, 0o644, f.kind, text); err != nil {
			return err
		}
	}
	for script, file := range map[string]string{"postinstall": "postinst", "preremove": "prerm", "postremove": "postrm"} {
		text, err := files.ReadFile(path.Join("files", prog.name, file))
		if err != nil {
			return err
		}
		s.recipe.Scripts[script] = filepath.Join(s.folder, file)
		if err := os.WriteFile(s.recipe.Scripts[script], text, 0o755); err != nil {
			return err
		}
	}
	return nil
}

// addTerms adds the terms of all that is linked, the voices' among them.
func (p *pack) addTerms(s *stage, doc string, linked []module) error {
	var list bytes.Buffer
	fmt.Fprintf(&list, "Evenbell is the work of its makers. Into it are linked, each under its own terms,\nwhich stand in full in the folder licenses beside this file:\n\n")
	for _, m := range linked {
		fmt.Fprintf(&list, "%s %s: %s\n", m.path, m.version, m.spdx)
		for _, t := range m.terms {
			name := "licenses/" + strings.ReplaceAll(m.path, "/", "_") + "/" + t.name
			fmt.Fprintf(&list, "  %s\n", name)
			if err := s.add(doc+"/"+name, 0o644, "", t.text); err != nil {
				return err
			}
		}
	}
	notices, err := filepath.Glob(filepath.Join(p.root, "sounds", "*", "NOTICE"))
	if err != nil || len(notices) == 0 {
		return fmt.Errorf("the voices have no notices: %w", fs.ErrNotExist)
	}
	fmt.Fprintf(&list, "\nThe recorded voices are inside the program:\n\n")
	for _, n := range notices {
		text, err := os.ReadFile(n)
		if err != nil {
			return err
		}
		name := "licenses/voice-" + filepath.Base(filepath.Dir(n)) + "/NOTICE"
		fmt.Fprintf(&list, "  %s\n", name)
		if err := s.add(doc+"/"+name, 0o644, "", text); err != nil {
			return err
		}
	}
	return s.add(doc+"/copyright", 0o644, "", list.Bytes())
}

func (p *pack) addBOM(s *stage, prog program, t target, doc, binary string, linked []module) error {
	var bom bytes.Buffer
	if err := p.writeBOM(&bom, prog, t, binary, linked); err != nil {
		return err
	}
	return s.add(doc+"/sbom.cdx.json", 0o644, "", bom.Bytes())
}

// nfpm writes the package and gives its file.
func (p *pack) nfpm(ctx context.Context, s *stage) (string, error) {
	text, err := json.MarshalIndent(s.recipe, "", "  ")
	if err != nil {
		return "", err
	}
	recipeFile := filepath.Join(s.folder, "nfpm.json")
	if err := os.WriteFile(recipeFile, text, 0o644); err != nil {
		return "", err
	}
	r := s.recipe
	file := filepath.Join(p.out, fmt.Sprintf("%s_%s_%s.deb", r.Name, r.Version, r.Arch))
	c := exec.CommandContext(ctx, "go", "tool", "-modfile=cmd/pack/nfpm.mod", "nfpm",
		"package", "--packager", "deb", "--config", recipeFile, "--target", file)
	c.Dir = p.root
	c.Env = append(os.Environ(), "GOFLAGS=", fmt.Sprintf("SOURCE_DATE_EPOCH=%d", p.date.Unix()))
	if text, err := c.CombinedOutput(); err != nil {
		return "", fmt.Errorf("nfpm: %w\n%s", err, text)
	}
	return file, nil
}
