package record

import (
	"fmt"
	"io"

	"evenbell/coach"
	"evenbell/coach/review"
)

// NotePDF writes the note of a session or a visit with the table of its sets as
// an A4 archive copy. The same values give the same bytes.
func NotePDF(w io.Writer, of Copy, in NoteInput) error {
	n := NoteOf(in)
	p, err := newPaper(in.Clinic, of, n.Title, n.Patient)
	if err != nil {
		return err
	}
	for _, part := range n.Paragraphs {
		p.section(part.Heading, 2)
		if part.List {
			p.points(part.Sentences)
			continue
		}
		for i, s := range part.Sentences {
			if i > 0 {
				s = " " + s
			}
			p.flow(s)
		}
		p.Ln(lineHigh)
	}
	if rows := in.setTable(); len(rows) > 0 {
		p.section("The sets", 4)
		p.grid(setCells, rows)
	}
	p.section("What it was made from", len(in.made()))
	p.points(in.made())
	return p.end(w)
}

// flow writes on, where the last sentence ended.
func (p *paper) flow(s string) {
	p.font("", 10, 20)
	p.Write(lineHigh, p.show(s))
}

var setCells = []cell{{"Exercise", 0.28, false}, {"Set", 0.06, false}, {"Side", 0.09, false}, {"Load", 0.13, false}, {"Led", 0.07, false},
	{"Tapped", 0.1, false}, {"Left", 0.08, false}, {"Rest", 0.09, false}, {"Ended by", 0.1, false}}

func (in NoteInput) setTable() [][]string {
	var rows [][]string
	for _, s := range in.Sessions {
		for _, it := range s.Items {
			for _, set := range it.Sets {
				rows = append(rows, in.setCells(s, it, set))
			}
		}
	}
	return rows
}

func (in NoteInput) setCells(s Session, it *review.Item, set *review.Set) []string {
	load, rest, side, reserve := "", "", "", string(set.Reserve)
	if it.Dose.Reps > 0 {
		load = loadWords(it.Dose.Load)
	}
	if set.Rest > 0 {
		rest = minutes(set.Rest)
	}
	if set.Side == coach.Left || set.Side == coach.Right {
		side = string(set.Side)
	}
	return []string{in.at(s, in.Clinic.exercise(it.Exercise)), fmt.Sprint(set.Number), side, load,
		fmt.Sprint(set.Led), fmt.Sprint(set.Confirmed), reserve, rest, endedBy(set.Ended)}
}

// endedBy is what ended a set before its end; empty where nothing did.
func endedBy(e coach.SetEnding) string {
	switch e {
	case coach.EndedComplete:
		return ""
	case coach.EndedEnough:
		return "patient"
	case "":
		return "not known"
	}
	return string(e)
}

// made are the fingerprints of what each session was made from.
func (in NoteInput) made() []string {
	var out []string
	for _, s := range in.Sessions {
		out = append(out, in.at(s, "Session: "+s.ID))
		for _, f := range []struct{ what, print string }{{"Day plan", s.Made.Plan}, {"Protocol", s.Made.Protocol}, {"Voice", s.Made.Voice}, {"Program", s.Made.Program}} {
			if f.print != "" {
				out = append(out, in.at(s, f.what+": "+f.print))
			}
		}
		for _, r := range s.Made.Recorded {
			out = append(out, in.at(s, fmt.Sprintf("Recorded %q: %s", r.Text, r.Hash)))
		}
	}
	return out
}
