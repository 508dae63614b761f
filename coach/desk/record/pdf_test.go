package record

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

var madeBy = Copy{Made: day(3), By: "R. Okafor"}

func sessionPDF(t testing.TB, n int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, NotePDF(&b, madeBy, note(t, n)))
	return b.Bytes()
}

func programmePDF(t testing.TB, who store.Patient, p Prescription) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, ProgrammePDF(&b, madeBy, clinic(), who, p))
	return b.Bytes()
}

// kept writes a PDF where the peers can read it.
func kept(t *testing.T, name string, pdf []byte) string {
	t.Helper()
	dir := t.TempDir()
	if d := os.Getenv("EVENBELL_LOOK"); d != "" {
		dir = d // to look at the pages
	}
	file := filepath.Join(dir, name+".pdf")
	require.NoError(t, os.WriteFile(file, pdf, 0o600))
	return file
}

// read is the text of a PDF, by pdftotext; qpdf has looked at its structure.
func read(t *testing.T, name string, pdf []byte) string {
	t.Helper()
	file := kept(t, name, pdf)
	out, err := exec.Command(program(t, "qpdf"), "--check", file).CombinedOutput()
	require.NoError(t, err, "%s", out)
	require.NotContains(t, string(out), "WARNING")
	text, err := exec.Command(program(t, "pdftotext"), "-layout", file, "-").Output()
	require.NoError(t, err)
	return string(text)
}

func TestSessionCopyReads(t *testing.T) {
	for n, want := range []string{"It was completed.", "It was stopped with the red button."} {
		got := read(t, fmt.Sprint("session", n), sessionPDF(t, n))
		flowing := strings.Join(strings.Fields(got), " ")
		for _, want := range []string{want, "Søren Łukasz Muñoz (K4)", "Quayside Heart Health", "page 1 of", "It is no monitor and no alarm system",
			"for R. Okafor", "Biceps curl", "2.5 kg", "The log of this session is whole."} {
			assert.Contains(t, flowing, want)
		}
		assert.NotContains(t, got, pages)
		assert.NotContains(t, got, "cannot show every letter")
	}
}

func TestProgrammeCopyReads(t *testing.T) {
	c := chart(t)
	got := read(t, "programme", programmePDF(t, c.Patient, c.Prescriptions[0]))
	for _, want := range []string{"Programme, version 1", "Approved by R. Okafor", "2 March 2026 to 29 March 2026", "2 sets of 10 in all", "2.5 kg", "5 lb",
		"Knee, left, until 1 May 2026.", "expected to take 31 min", c.Prescriptions[0].Fingerprint, "no alarm system"} {
		assert.Contains(t, got, want)
	}
	assert.NotContains(t, got, "Draft")

	draft := c.Prescriptions[0]
	draft.Approved = ""
	assert.Contains(t, read(t, "draft", programmePDF(t, c.Patient, draft)), "Draft. Nobody has approved it")
	draft.Plan, draft.Text = nil, "load = \"200 kg\""
	assert.Contains(t, read(t, "unread", programmePDF(t, c.Patient, draft)), `load = "200 kg"`)
}

// Long records go over pages, each with its head and number.
func TestCopiesGoOverPages(t *testing.T) {
	c := chart(t)
	p := c.Prescriptions[0]
	long := *p.Plan
	long.Patients = append(long.Patients[:0:0], long.Patients...)
	for range 3 {
		long.Patients[0].Items = append(long.Patients[0].Items, append(long.Patients[0].Items, long.Patients[0].Items...)...)
	}
	p.Plan = &long
	got := read(t, "long", programmePDF(t, c.Patient, p))
	count := strings.Count(got, "\f")
	require.Greater(t, count, 1)
	for n := 1; n <= count; n++ {
		assert.Contains(t, got, fmt.Sprintf("page %d of %d", n, count))
	}
	assert.Equal(t, count, strings.Count(got, "Exercise "), "the table's head comes again")
}

// Names of many languages are printed as they are; where the font lacks a
// letter the copy says so and shows its base.
func TestCopiesShowNames(t *testing.T) {
	for name, want := range map[string]string{
		"Ștefan Țurcanu":    "Ștefan Țurcanu",
		"Þórður Ægisson":    "Þórður Ægisson",
		"İpek Güneş":        "İpek Güneş",
		"Ελένη Παππά":       "Ελένη Παππά",
		"Жанна Ющенко":      "Жанна Ющенко",
		"Nguyễn Thị Hồng":   "Nguyên Thi Hông",
		"O’Brien-Müßig":     "O’Brien-Müßig",
		"Combi\u0301n Åse":  "Combín Åse",
		"=HYPERLINK(\"x\")": "=HYPERLINK(\"x\")",
	} {
		got := read(t, "name", programmePDF(t, store.Patient{Tag: "K4", Name: name}, chart(t).Prescriptions[0]))
		assert.Contains(t, got, want)
		if name == "Nguyễn Thị Hồng" {
			assert.Contains(t, got, "cannot show every letter")
		}
	}
}

func TestCopiesAreTheSameBytes(t *testing.T) {
	for n := range 2 {
		assert.Equal(t, sessionPDF(t, n), sessionPDF(t, n))
	}
	c := chart(t)
	assert.Equal(t, programmePDF(t, c.Patient, c.Prescriptions[0]), programmePDF(t, c.Patient, c.Prescriptions[0]))
	nameless := c.Patient
	nameless.Name = ""
	assert.NotContains(t, read(t, "nameless", programmePDF(t, nameless, c.Prescriptions[0])), "Muñoz")
}
