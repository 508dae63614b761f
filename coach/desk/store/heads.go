package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// head is what of an entry the store itself needs. The rest of a line is kept
// as it came, so that a newer station's entries are kept whole.
type head struct {
	Epoch   string          `json:"epoch"`
	Seq     int64           `json:"seq"`
	Boot    string          `json:"boot"`
	MonoNS  int64           `json:"mono_ns"`
	Wall    *time.Time      `json:"wall"`
	Session string          `json:"session"`
	Kind    coach.EntryKind `json:"kind"`
	Tag     string          `json:"tag"`
	Data    json.RawMessage `json:"data"`
}

// lineFault is a line that is not the entry it is said to be.
type lineFault struct {
	journal.Position
	detail, line string
}

// readHeads reads all lines, or gives the first that is no entry.
func readHeads(records []journal.Record) ([]head, *lineFault) {
	heads := make([]head, len(records))
	for i, r := range records {
		if detail := heads[i].read(r); detail != "" {
			line := r.Line[:min(len(r.Line), journal.MaxLine)]
			return nil, &lineFault{r.Position, detail, string(bytes.ToValidUTF8(bytes.ReplaceAll(line, []byte{0}, nil), []byte("?")))}
		}
	}
	return heads, nil
}

// read reads a record's line and says what is wrong with it.
func (h *head) read(r journal.Record) string {
	switch {
	case r.Seq < 1:
		return fmt.Sprintf("number %d; entries are numbered from 1", r.Seq)
	case r.Epoch == "" || len(r.Epoch) > 64:
		return "an epoch's name has 1 to 64 characters"
	case len(r.Line) > journal.MaxLine:
		return fmt.Sprintf("a line of %d bytes; %d are allowed", len(r.Line), journal.MaxLine)
	case !utf8.Valid(r.Line) || bytes.IndexByte(r.Line, 0) >= 0:
		return "a line that is not text in UTF-8"
	case bytes.IndexByte(r.Line, '\n') >= 0:
		return "an entry of more than one line"
	}
	if t := bytes.TrimSpace(r.Line); len(t) == 0 || t[0] != '{' {
		return "a line that is not one JSON object"
	}
	if err := json.Unmarshal(r.Line, h); err != nil {
		return "a line that is no entry: " + err.Error()
	}
	switch {
	case h.Kind == "":
		return "an entry without a kind"
	case h.Epoch != r.Epoch || h.Seq != r.Seq:
		return fmt.Sprintf("the line says epoch %s, number %d, and came as epoch %s, number %d", h.Epoch, h.Seq, r.Epoch, r.Seq)
	}
	// What is looked for by. The line itself is kept as it is.
	h.Boot, h.Session, h.Tag, h.Kind = clipped(h.Boot), clipped(h.Session), clipped(h.Tag), clipped(h.Kind)
	h.MonoNS = max(h.MonoNS, 0)
	return ""
}

// clipped is a name as a column takes it: without NUL, which PostgreSQL does
// not keep, and no longer than an index can be.
func clipped[T ~string](name T) T {
	const most = 200
	text := strings.ReplaceAll(string(name), "\x00", "")
	if len(text) > most {
		text = strings.ToValidUTF8(text[:most], "")
	}
	return T(text)
}

// data reads the data of an entry; what does not read is left as it is, since
// the line is kept in any case.
func (h *head) data(to any) { _ = json.Unmarshal(h.Data, to) }

// ofEarlier reports whether the entry only names a session of an earlier epoch.
func (h *head) ofEarlier() bool {
	var d coach.FaultData
	if h.Kind == coach.EntryFault {
		h.data(&d)
	}
	return d.Earlier()
}

// span is a stretch of a batch.
type span struct{ from, to int }

// runsOf cuts a batch where the epoch changes.
func runsOf(records []journal.Record) []span {
	var runs []span
	for i := range records {
		if i == 0 || records[i].Epoch != records[i-1].Epoch {
			runs = append(runs, span{i, i})
		}
		runs[len(runs)-1].to = i + 1
	}
	return runs
}
