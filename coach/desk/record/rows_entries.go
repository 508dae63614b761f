package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"iter"
)

// logged is an entry with its line read.
type logged struct {
	Entry
	line map[string]json.RawMessage
}

func (c Clinic) entryColumns() []column[logged] {
	of := func(key, about string) column[logged] {
		return column[logged]{Column{key, about}, func(e logged) any { return raw(e.line[key]) }}
	}
	return append([]column[logged]{
		of("epoch", "the start of the station's program"),
		of("seq", "number within the epoch, from 1 without gaps"),
		of("boot", "the station's boot"),
		of("mono_ns", "nanoseconds since the boot"),
		of("wall", "the station's own time, RFC 3339 in UTC; empty while its clock was not trusted"),
		of("sample", "position on the session's sample clock, 48,000 a second"),
		of("session", "session id"),
		of("kind", "kind of entry"),
		of("tag", "the patient's tag"),
		of("item", "exercise in the plan, from 1"),
		of("exercise", "exercise id"),
		of("set", "set, from 1"),
		of("rep", "repetition, from 1"),
		of("side", "left, right or both"),
		of("data", "what the kind says, as JSON"),
	}, c.deskColumns()...)
}

// deskColumns are what the desk adds to an entry.
func (c Clinic) deskColumns() []column[logged] {
	return []column[logged]{
		{Column{"station", "the station's name"}, func(e logged) any { return text(e.StationName) }},
		{Column{"at", "when it happened, RFC 3339 in the clinic's zone; derived from a contact where the station's clock was not trusted"},
			func(e logged) any { return text(c.stamp(e.At)) }},
		{Column{"within_s", "how far at may be off, in seconds"}, func(e logged) any { return seconds(e.Within) }},
		{Column{"received", "when the desk had it"}, func(e logged) any { return text(c.stamp(e.Received)) }},
		{Column{"carried", "true where it came by stick"}, func(e logged) any { return e.Carried }},
		{Column{"hash", "SHA-256 of the chain after this entry"}, func(e logged) any { return e.Hash.String() }},
	}
}

// EntryColumns are the columns of WriteEntries in CSV.
func EntryColumns() []Column { return about(Clinic{}.entryColumns()) }

// WriteEntries streams entries. As CSV each key of a log line is a column. As
// JSON lines each is the log line as the station wrote it, with the desk's
// keys added at its end, so that it can be read as a log again.
func WriteEntries(w io.Writer, f Format, c Clinic, entries iter.Seq2[Entry, error]) error {
	if f == JSONL {
		return write(w, f, c.deskColumns(), withLines(entries), asLogLine)
	}
	return write(w, f, c.entryColumns(), withLines(entries), nil)
}

// withLines reads each entry's line.
func withLines(entries iter.Seq2[Entry, error]) iter.Seq2[logged, error] {
	return func(yield func(logged, error) bool) {
		for e, err := range entries {
			out := logged{Entry: e}
			if err == nil {
				if err = json.Unmarshal(e.Line, &out.line); err != nil {
					err = fmt.Errorf("entry %d of epoch %s: %w", e.Seq, e.Epoch, err)
				}
			}
			if !yield(out, err) {
				return
			}
		}
	}
}

// asLogLine puts the desk's keys, written as an object, into the log line.
func asLogLine(e logged, added []byte) []byte {
	line := bytes.TrimSuffix(bytes.TrimSpace(e.Line), []byte("}"))
	out := append([]byte{}, line...)
	return append(append(out, ','), bytes.TrimPrefix(added, []byte("{"))...)
}

// raw is a cell of what stands in a line: text as text, numbers with the
// digits they have, anything else as JSON.
func raw(v json.RawMessage) any {
	if len(v) == 0 || string(v) == "null" {
		return nil
	}
	switch v[0] {
	case '"':
		var s string
		if json.Unmarshal(v, &s) == nil {
			return text(s)
		}
	case '{', '[':
		return string(v)
	case 't', 'f':
		return v[0] == 't'
	}
	return json.Number(v)
}
