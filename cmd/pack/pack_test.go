package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// full compiles everything twice instead of taking the second time from Go's
// cache.
var full = flag.Bool("full", false, "build all architectures, the second time with an empty build cache")

const project = "../.."

// peer is an outside program that the test compares with.
func peer(t *testing.T, name string) string {
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatalf("%s is required and not here", name)
		}
		t.Skipf("%s is not here", name)
	}
	return path
}

func output(t *testing.T, name string, args ...string) string {
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "%s %v\n%s", name, args, out)
	return string(out)
}

// built packs the tree at root and gives the packages' files.
func built(t *testing.T, root, arches string) []string {
	var out bytes.Buffer
	c := command(&out)
	c.SetArgs([]string{"--root", root, "--out", t.TempDir(), "--arch", arches})
	require.NoError(t, c.ExecuteContext(t.Context()))
	return strings.Fields(out.String())
}

func needsGit(t *testing.T) {
	if os.Getenv("SOURCE_DATE_EPOCH") == "" && exec.Command("git", "-C", project, "log", "-1").Run() != nil {
		t.Setenv("SOURCE_DATE_EPOCH", "1767225600")
	}
}

// The same tree in another folder, in another time zone, with other file
// dates, gives the same package.
func TestSameBytes(t *testing.T) {
	needsGit(t)
	arches := "amd64"
	if *full {
		arches = "amd64,arm64,armhf"
	}
	first := built(t, project, arches)
	other := filepath.Join(t.TempDir(), "elsewhere")
	require.NoError(t, os.CopyFS(other, os.DirFS(project))) // dated now
	t.Setenv("TZ", "Pacific/Auckland")
	if *full {
		t.Setenv("GOCACHE", t.TempDir())
	}
	second := built(t, other, arches)
	require.Len(t, second, len(first))
	for i := range first {
		a, err := os.ReadFile(first[i])
		require.NoError(t, err)
		b, err := os.ReadFile(second[i])
		require.NoError(t, err)
		assert.Equal(t, filepath.Base(first[i]), filepath.Base(second[i]))
		assert.True(t, bytes.Equal(a, b), "%s differs", first[i])
	}
}

// dpkg reads the package, and what it unpacks runs.
func TestPackageUnpacksAndRuns(t *testing.T) {
	dpkg := peer(t, "dpkg-deb")
	needsGit(t)
	deb := built(t, project, "amd64")[0]
	assert.Equal(t, "evenbell-station", strings.TrimSpace(output(t, dpkg, "--field", deb, "Package")))
	control := t.TempDir()
	output(t, dpkg, "--control", deb, control)
	conffiles, err := os.ReadFile(filepath.Join(control, "conffiles"))
	require.NoError(t, err)
	assert.Equal(t, "/etc/evenbell/station.toml\n", string(conffiles))
	for _, script := range []string{"postinst", "prerm", "postrm"} {
		output(t, "sh", "-n", filepath.Join(control, script))
	}
	for line := range strings.Lines(output(t, dpkg, "--contents", deb)) {
		assert.Equal(t, "root/root", strings.Fields(line)[1], line)
	}
	root := t.TempDir()
	output(t, dpkg, "--extract", deb, root)
	station := filepath.Join(root, "usr/bin/station")
	assert.Contains(t, output(t, station, "--version"), "0.1.0")
	output(t, station, "check", filepath.Join(project, "testdata/plans/quayside-chair.toml"))
	t.Run("terms", func(t *testing.T) { everyModuleHasItsTerms(t, root, station) })
	t.Run("service", func(t *testing.T) { serviceIsSound(t, root) })
}

// everyModuleHasItsTerms holds the bill of materials against what Go says of
// the binary.
func everyModuleHasItsTerms(t *testing.T, root, station string) {
	doc := filepath.Join(root, "usr/share/doc/evenbell-station")
	text, err := os.ReadFile(filepath.Join(doc, "sbom.cdx.json"))
	require.NoError(t, err)
	var bom struct {
		BOMFormat, SpecVersion string
		Components             []struct{ Name, Version, Purl string }
	}
	require.NoError(t, json.Unmarshal(text, &bom))
	assert.Equal(t, "CycloneDX", bom.BOMFormat)
	listed := map[string]string{}
	for _, c := range bom.Components {
		listed[c.Name] = c.Version
	}
	copyright, err := os.ReadFile(filepath.Join(doc, "copyright"))
	require.NoError(t, err)
	deps := 0
	for line := range strings.Lines(output(t, "go", "version", "-m", station)) {
		f := strings.Fields(line)
		if len(f) < 3 || f[0] != "dep" {
			continue
		}
		deps++
		assert.Equal(t, f[2], listed[f[1]], "the bill of materials lacks %s", f[1])
		assert.Contains(t, string(copyright), f[1]+" "+f[2]+": ")
		terms, err := os.ReadDir(filepath.Join(doc, "licenses", strings.ReplaceAll(f[1], "/", "_")))
		assert.NoError(t, err)
		assert.NotEmpty(t, terms, "no terms of %s", f[1])
	}
	assert.Greater(t, deps, 5)
	assert.Len(t, bom.Components, deps+1, "and Go itself")
	assert.FileExists(t, filepath.Join(doc, "licenses/voice-en/NOTICE"))
}

// serviceIsSound has systemd read the unit where it is installed and rate how
// much of the machine the service can reach: below 3 of 10.
func serviceIsSound(t *testing.T, root string) {
	analyze := peer(t, "systemd-analyze")
	unit := filepath.Join(root, "lib/systemd/system/evenbell-station.service")
	text, err := os.ReadFile(unit)
	require.NoError(t, err)
	here := filepath.Join(t.TempDir(), "evenbell-station.service")
	text = bytes.ReplaceAll(text, []byte("ExecStart=/usr"), []byte("ExecStart="+root+"/usr"))
	require.NoError(t, os.WriteFile(here, text, 0o644))
	assert.Empty(t, output(t, analyze, "verify", "--man=no", here))
	output(t, analyze, "security", "--offline=true", "--threshold=30", here)
}

func TestWrongArchitecture(t *testing.T) {
	c := command(io.Discard)
	c.SetArgs([]string{"--out", t.TempDir(), "--arch", "mips"})
	assert.ErrorContains(t, c.Execute(), `--arch "mips": it is amd64, arm64 or armhf`)
}

// Licences are told apart by their words, wherever the lines break. The words
// are those of the licences' published texts.
func TestIdentify(t *testing.T) {
	for text, want := range map[string]string{
		"Apache License\n   Version 2.0, January 2004":                                                           "Apache-2.0",
		"Redistribution and use in source\nand binary forms … used to\nendorse or promote products derived":      "BSD-3-Clause",
		"Redistribution and use in source and\nbinary forms, with or without modification":                       "BSD-2-Clause",
		"Permission is hereby granted, free of charge, … without restriction … shall be\nincluded in all copies": "MIT",
		"All rights reserved.": "",
	} {
		assert.Equal(t, want, identify([]byte(text)), text)
	}
}
