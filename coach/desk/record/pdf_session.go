package record

import (
	"fmt"
	"io"

	"evenbell/coach"
)

// SessionPDF writes a session's note with the table of its sets as an A4
// archive copy. The same values give the same bytes.
func SessionPDF(w io.Writer, of Copy, in NoteInput) error {
	n := SessionNote(in)
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
	for _, it := range in.Session.Items {
		for _, set := range it.Sets {
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
			rows = append(rows, []string{in.Clinic.exercise(it.Exercise), fmt.Sprint(set.Number), side, load,
				fmt.Sprint(set.Led), fmt.Sprint(set.Confirmed), reserve, rest, endedBy(set.Ended)})
		}
	}
	return rows
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

// made are the fingerprints of what a session was made from.
func (in NoteInput) made() []string {
	m, out := in.Session.Made, []string{"Session: " + in.Session.ID}
	for _, f := range []struct{ what, print string }{{"Day plan", m.Plan}, {"Protocol", m.Protocol}, {"Voice", m.Voice}, {"Program", m.Program}} {
		if f.print != "" {
			out = append(out, f.what+": "+f.print)
		}
	}
	return out
}
