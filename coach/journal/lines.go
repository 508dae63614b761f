package journal

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"evenbell/coach"
)

// MaxLine is the longest line of a journal in bytes, without its newline. The
// longest entry there is takes under a thousandth of it.
const MaxLine = 1 << 20

// Line is the one written form of an entry: a JSON object without a newline,
// keys in the order of the type, the same bytes on every machine. Checksums
// and the hash chain are over these bytes.
func Line(e coach.Entry) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(e); err != nil {
		return nil, fmt.Errorf("writing a %s entry: %w", e.Kind, err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// ParseLine reads one line. It refuses what is not one JSON object in UTF-8,
// and an entry without a kind; a kind it does not know it reads.
func ParseLine(line []byte) (coach.Entry, error) {
	var e coach.Entry
	if !utf8.Valid(line) {
		return e, errors.New("not UTF-8 text; a journal line is one JSON object in UTF-8")
	}
	if t := bytes.TrimSpace(line); len(t) == 0 || t[0] != '{' {
		return e, errors.New("not an entry; a journal line is one JSON object")
	}
	// The entry itself is asked: json.Unmarshal would read the line twice before.
	if err := e.UnmarshalJSON(line); err != nil {
		if bad := (*json.SyntaxError)(nil); errors.As(err, &bad) {
			err = bad
		}
		return coach.Entry{}, err
	}
	if e.Kind == "" {
		return coach.Entry{}, errors.New("an entry without a kind")
	}
	if e.Wall != nil {
		utc := e.Wall.UTC()
		e.Wall = &utc
	}
	return e, nil
}

// ParseAnyLine is ParseLine for a log that is taken as it is: data that cannot
// be read as its kind's is left out, and only the line itself has it.
func ParseAnyLine(line []byte) (coach.Entry, error) {
	e, err := ParseLine(line)
	if err == nil {
		return e, nil
	}
	var keys map[string]json.RawMessage
	if json.Unmarshal(line, &keys) != nil {
		return coach.Entry{}, err
	}
	delete(keys, "data")
	bare, other := json.Marshal(keys)
	if other != nil {
		return coach.Entry{}, err
	}
	return ParseLine(bare)
}

// Writer writes entries as JSON lines, one an entry.
type Writer struct{ w io.Writer }

// NewWriter gives a Writer that writes each line to w with one call.
func NewWriter(w io.Writer) *Writer { return &Writer{w} }

// Write writes one entry as one line.
func (w *Writer) Write(e coach.Entry) error {
	line, err := Line(e)
	if err != nil {
		return err
	}
	if _, err := w.w.Write(append(line, '\n')); err != nil {
		return fmt.Errorf("writing the journal: %w", err)
	}
	return nil
}

// Read reads JSON lines. It gives every entry it could read, in the order of
// the file, and a fault with its line number for each line it could not;
// name is what the faults call the file. An entry without an epoch or a
// number is given with a warning: it can be reviewed, but not be told from
// another. Empty lines are passed over. Gaps are no fault here, since an
// export of one patient's entries has them by nature.
func Read(name string, r io.Reader) ([]coach.Entry, []coach.Fault) {
	var entries []coach.Entry
	var faults []coach.Fault
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, MaxLine+2) // room for CR and LF
	n := 0
	for lines.Scan() {
		n++
		if len(bytes.TrimSpace(lines.Bytes())) == 0 {
			continue
		}
		e, err := ParseLine(lines.Bytes())
		if err != nil {
			faults = append(faults, coach.Fault{File: name, Line: n, Message: err.Error()})
			continue
		}
		entries = append(entries, e)
		faults = append(faults, unnumbered(name, n, e)...)
	}
	if err := lines.Err(); errors.Is(err, bufio.ErrTooLong) {
		faults = append(faults, coach.Fault{File: name, Line: n + 1,
			Message: fmt.Sprintf("longer than %d bytes; nothing after it was read", MaxLine)})
	} else if err != nil {
		faults = append(faults, coach.Fault{File: name, Line: n + 1, Message: "reading: " + err.Error()})
	}
	return entries, faults
}

func unnumbered(name string, line int, e coach.Entry) []coach.Fault {
	if e.Epoch == "" {
		return []coach.Fault{{File: name, Line: line, Key: "epoch", Warning: true,
			Message: "empty; every entry names the epoch it was written in"}}
	}
	if e.Seq < 1 {
		return []coach.Fault{{File: name, Line: line, Key: "seq", Warning: true,
			Message: fmt.Sprintf("%d; entries are numbered from 1 in an epoch", e.Seq)}}
	}
	return nil
}
