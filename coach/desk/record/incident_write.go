package record

import (
	"encoding/json"
	"fmt"
	"io"
	"iter"
)

// WriteJSON writes the whole report as one JSON document.
func (r *Report) WriteJSON(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(r); err != nil {
		return fmt.Errorf("writing the incident: %w", err)
	}
	return nil
}

// Write writes the report as a table of its timeline (CSV), or as JSON lines:
// first what heads it, then a line for each thing known, each with its part.
func (r *Report) Write(w io.Writer, f Format) error {
	if f == CSV {
		return write(w, f, momentColumns, r.each(), nil)
	}
	if f != JSONL {
		_, err := ParseFormat(string(f))
		return err
	}
	for _, p := range r.parts() {
		line, err := compact(p)
		if err == nil {
			_, err = w.Write(append(line, '\n'))
		}
		if err != nil {
			return fmt.Errorf("writing the incident: %w", err)
		}
	}
	return nil
}

// part is one line of the JSON lines.
type part struct {
	Part string `json:"part"`
	Is   any    `json:"is"`
}

// parts are the report cut up, its head first and its log last.
func (r *Report) parts() []part {
	head := map[string]any{"format": r.Format, "clinic": r.Clinic, "caution": r.Caution, "made": r.Made, "by": r.By, "tag": r.Tag,
		"station": r.Station, "station_key": r.StationKey, "session": r.Session, "chain_holds": r.ChainHolds, "note": r.Note}
	if r.Name != "" {
		head["name"] = r.Name
	}
	out := []part{{"incident", head}}
	out = append(out, cut("visit_part", r.Visit)...)
	out = append(out, cut("fingerprint", r.Fingerprints)...)
	out = append(out, cut("chain", r.Chains)...)
	out = append(out, cut("timing", r.Timings)...)
	out = append(out, cut("approved", r.Approved)...)
	if r.Plan != nil {
		out = append(out, part{"plan", r.Plan})
	}
	if r.Protocol != nil {
		out = append(out, part{"protocol", r.Protocol})
	}
	out = append(out, part{"protocol_in_force", r.InForce})
	out = append(out, cut("precaution", r.Precautions)...)
	out = append(out, cut("screening", r.Screenings)...)
	out = append(out, cut("on_duty", r.OnDuty)...)
	out = append(out, cut("self_test", r.SelfTests)...)
	out = append(out, cut("gap", r.Gaps)...)
	out = append(out, cut("moment", r.Moments)...)
	return append(out, cut("entry", r.Log)...)
}

func cut[T any](name string, all []T) []part {
	out := make([]part, len(all))
	for i, one := range all {
		out[i] = part{name, one}
	}
	return out
}

var momentColumns = []column[Moment]{
	{Column{"at", "RFC 3339 in the clinic's zone; empty where nobody can tell"}, func(m Moment) any { return text(m.At) }},
	{Column{"within_s", "how far it may be off, in seconds"}, func(m Moment) any { return json.Number(m.WithinS) }},
	{Column{"who", "station, desk, or a name"}, func(m Moment) any { return text(m.Who) }},
	{Column{"what", "what happened"}, func(m Moment) any { return text(m.What) }},
	{Column{"detail", "more of it"}, func(m Moment) any { return text(m.Detail) }},
	{Column{"sample_s", "seconds of the session's sample clock"}, func(m Moment) any { return number(m.SampleS) }},
	{Column{"epoch", "of the log entry it is from"}, func(m Moment) any { return text(m.Epoch) }},
	{Column{"seq", "of the log entry it is from"}, func(m Moment) any { return countIf(int(m.Seq)) }},
}

// MomentColumns are the columns of an incident's timeline as CSV.
func MomentColumns() []Column { return about(momentColumns) }

func number(s string) any {
	if s == "" {
		return nil
	}
	return json.Number(s)
}

func (r *Report) each() iter.Seq2[Moment, error] {
	return func(yield func(Moment, error) bool) {
		for _, m := range r.Moments {
			if !yield(m, nil) {
				return
			}
		}
	}
}
