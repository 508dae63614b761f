package strict

import (
	"bytes"
	"fmt"
	"sort"
	"strings"

	"evenbell/coach"
)

// MaxBytes is the longest file that is read: many times what a clinic's
// busiest day needs.
const MaxBytes = 1 << 20

// File is one file read, with the faults found so far.
type File struct {
	name    string
	breaks  []int // offsets of the line feeds
	root    *Table
	faults  []coach.Fault
	foreign bool // not of the wanted format, or not read at all: its keys mean nothing here
}

// Parse reads text, which came from the file of that name. It always gives a
// File, however broken the text is.
func Parse(name string, text []byte) *File {
	f := &File{name: name}
	f.root = &Table{file: f, line: 1}
	if len(text) > MaxBytes {
		f.add(1, "", "the file is %d bytes long; at most %d are read", len(text), MaxBytes)
		f.foreign = true
		return f
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	for i, c := range text {
		if c == '\n' {
			f.breaks = append(f.breaks, i)
		}
	}
	(&builder{file: f, text: text, here: f.root}).build()
	return f
}

// Root is the top of the file.
func (f *File) Root() *Table { return f.root }

// Format checks the file's `format = "NAME/VERSION"` against the one version
// this program reads. If it is false, the fault says why, and no key of the
// file is judged further.
func (f *File) Format(name string, version int) bool {
	if f.foreign {
		return false
	}
	want := fmt.Sprintf("%s/%d", name, version)
	got, ok := f.root.Text("format", Optional)
	switch {
	case ok && got == want:
		return true
	case ok && newer(got, name, version):
		f.root.Fault("format", "%s is newer than this program reads; it reads %s", got, want)
	case ok:
		f.root.Fault("format", "%s is not a format this program reads here; it reads %q", quote(got), want)
	case !f.root.Has("format"):
		f.root.Fault("format", "missing; the file begins with format = %q", want)
	}
	f.foreign = true
	return false
}

// newer reports whether got is a later version of the format, written as we
// write it.
func newer(got, name string, version int) bool {
	digits, ok := strings.CutPrefix(got, name+"/")
	if !ok || digits == "" || digits[0] == '0' || len(digits) > 9 || strings.Trim(digits, "0123456789") != "" {
		return false
	}
	n := 0
	for _, d := range digits {
		n = 10*n + int(d-'0')
	}
	return n > version
}

// Faults are all faults and warnings, in order of line. Call it last: keys
// that were not asked for by now are unknown.
func (f *File) Faults() []coach.Fault {
	if !f.foreign {
		f.root.reportUnknown()
		f.foreign = true
	}
	sort.SliceStable(f.faults, func(i, j int) bool { return f.faults[i].Line < f.faults[j].Line })
	return f.faults
}

func (f *File) add(line int, key, format string, args ...any) {
	f.faults = append(f.faults, coach.Fault{File: f.name, Line: line, Key: key, Message: fmt.Sprintf(format, args...)})
}

// lineOf is the line, from 1, on which the byte at offset stands.
func (f *File) lineOf(offset int) int { return 1 + sort.SearchInts(f.breaks, offset) }
