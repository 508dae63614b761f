package main

import (
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// emulated are the other architectures' loaders: qemu, and where Debian has
// their C library (libc6-arm64-cross, libc6-armhf-cross).
var emulated = map[string]struct{ qemu, libc string }{
	"arm64": {"qemu-aarch64-static", "/usr/aarch64-linux-gnu"},
	"armhf": {"qemu-arm-static", "/usr/arm-linux-gnueabihf"},
}

// crossLSB is how far a sample of the WAV may be off on another architecture,
// where multiply and add may be one rounding instead of two.
const crossLSB = 2

// oneItem is a session of three minutes: an emulated machine is slow.
const oneItem = `format = "day-plan/1"
day = 2026-03-02
clinic = "Quayside Heart Health"
unit = "kg"
[[patient]]
tag = "K4"
part = "middle"
[[patient.item]]
exercise = "biceps-curl"
sets = 2
reps = 6
load = "2 kg"
`

// The packaged programs of the other architectures coach the same session:
// cues, log and picture to the byte, sound to two steps of 65,536.
func TestOtherArchitecturesRenderTheSame(t *testing.T) {
	t.Parallel()
	dpkg := peer(t, "dpkg-deb")
	plan := filepath.Join(t.TempDir(), "plan.toml")
	require.NoError(t, os.WriteFile(plan, []byte(oneItem), 0o644))
	here := t.TempDir()
	renderInto(t, here, plan, packaged(t, dpkg, "amd64"))
	for arch, e := range emulated {
		t.Run(arch, func(t *testing.T) {
			qemu := peer(t, e.qemu)
			if _, err := os.Stat(e.libc); err != nil {
				missingPeer(t, "the C library of "+arch+" below "+e.libc)
			}
			there := t.TempDir()
			renderInto(t, there, plan, qemu, "-L", e.libc, packaged(t, dpkg, arch))
			for _, name := range []string{"cues.csv", "journal.jsonl", "picture.svg"} {
				assert.Equal(t, string(file(t, here, name)), string(file(t, there, name)), name)
			}
			soundsTheSame(t, file(t, here, "sound.wav"), file(t, there, "sound.wav"))
		})
	}
}

// packaged builds an architecture's package and gives the program in it.
func packaged(t *testing.T, dpkg, arch string) string {
	out := t.TempDir()
	deb, err := exec.Command("go", "run", "../pack", "--root", "../..", "--out", out, "--arch", arch).Output()
	require.NoError(t, err, "building the package")
	root := filepath.Join(out, "root")
	require.NoError(t, exec.Command(dpkg, "--extract", strings.TrimSpace(string(deb)), root).Run())
	return filepath.Join(root, "usr/bin/station")
}

func renderInto(t *testing.T, dir, plan string, program ...string) {
	args := append(program[1:], "render", plan, "--cues", "cues.csv", "--journal", "journal.jsonl",
		"--picture", "picture.svg", "--wav", "sound.wav")
	c := exec.Command(program[0], args...)
	c.Dir = dir
	text, err := c.CombinedOutput()
	require.NoError(t, err, "%s", text)
}

func file(t *testing.T, dir, name string) []byte {
	b, err := os.ReadFile(filepath.Join(dir, name))
	require.NoError(t, err)
	require.NotEmpty(t, b)
	return b
}

// soundsTheSame compares two 16-bit WAV files sample by sample.
func soundsTheSame(t *testing.T, a, b []byte) {
	require.Len(t, b, len(a))
	const header = 44
	require.Equal(t, a[:header], b[:header])
	off, most := 0, 0
	for i := header; i < len(a); i += 2 {
		x := int(int16(binary.LittleEndian.Uint16(a[i:])))
		y := int(int16(binary.LittleEndian.Uint16(b[i:])))
		if d := max(x-y, y-x); d > 0 {
			off++
			most = max(most, d)
		}
	}
	t.Logf("%d of %d samples differ, by at most %d", off, (len(a)-header)/2, most)
	assert.LessOrEqual(t, most, crossLSB)
}

// peer is an outside program that a test compares with.
func peer(t *testing.T, name string) string {
	path, err := exec.LookPath(name)
	if err != nil {
		missingPeer(t, name)
	}
	return path
}

func missingPeer(t *testing.T, what string) {
	if os.Getenv("EVENBELL_PEERS") == "required" {
		t.Fatalf("%s is required and not here", what)
	}
	t.Skipf("%s is not here", what)
}
