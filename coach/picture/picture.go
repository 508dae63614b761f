package picture

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"evenbell/coach"
)

// Caution stands on every picture: what the station is not.
const Caution = "This station paces and records. It is no monitor and no alarm system; the local protocol and licensed staff decide."

// The head of the page, in whole pixels.
const (
	titleAt   = 34
	headSpace = 108
	footLine  = 18
)

// Draw writes the session as one SVG 1.1 document. Cues and entries are those
// of the whole session, each in order of sample; entry data are pointers, as
// a session makes them and a journal reads them. Text gives the words of a
// phrase. An error is one of w's own.
func Draw(w io.Writer, prog *coach.Programme, cues []coach.Cue, entries []coach.Entry, text func(coach.Phrase) string) error {
	rec := read(prog, cues, entries)
	out := bufio.NewWriter(w)
	s := &sheet{pen: pen{out}, rec: &rec, text: text}
	s.page(rows(&rec))
	if err := out.Flush(); err != nil {
		return fmt.Errorf("drawing the session: %w", err)
	}
	return nil
}

// page writes the whole document.
func (s *sheet) page(rs []row) {
	top := u(headSpace) + s.legendHeight()
	foot := wrap(s.notBegun(), 12, u(plot))
	height := top + u(10+footLine*len(foot))
	for i := range rs {
		height += rs[i].height()
	}
	s.f(`<?xml version="1.0" encoding="UTF-8"?>`+"\n"+
		`<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%s" viewBox="0 0 %d %s" role="img" aria-labelledby="eb-title eb-desc" font-family="Verdana, 'DejaVu Sans', 'Liberation Sans', Arial, sans-serif">`+"\n",
		pageWidth, height, pageWidth, height)
	s.f("<title id=\"eb-title\">%s</title>\n<desc id=\"eb-desc\">%s</desc>\n<defs>\n", escape(s.title()), escape(s.describe()))
	s.patterns()
	s.f("</defs>\n")
	s.rect(0, 0, u(pageWidth), height, "#ffffff", "none")
	s.top()
	s.legend(u(headSpace))
	for i := range rs {
		s.row(&rs[i], top)
		top += rs[i].height()
	}
	for i, line := range foot {
		s.pen.text(u(left), top+u(12+footLine*i), words{size: 12}, line)
	}
	s.f("</svg>\n")
}

// top writes who, when, how it ended, what was done, and the caution.
func (s *sheet) top() {
	s.pen.text(u(left), u(titleAt), words{size: 20, bold: true}, s.title())
	s.pen.text(u(left), u(titleAt+22), words{size: 14}, s.summary())
	line := titleAt + 42
	caution := Caution
	if !s.rec.prog.Approved {
		caution = "Nobody has approved this plan: to look at and listen to only. " + Caution
	}
	s.pen.text(u(left), u(line), words{size: 12, ink: alert, bold: true}, caution)
	s.pen.text(u(left), u(line+20), words{size: 12, ink: quiet},
		"Time runs to the right, in minutes and seconds from the start; each row goes on where the one above ends. Timers and talk are drawn narrower than sets.")
}

// title names clinic, day, tag and duration.
func (s *sheet) title() string {
	p := s.rec.prog
	var parts []string
	for _, part := range []string{p.Clinic, string(p.Day), p.Tag, clock(s.rec.end), outcomeWords(s.rec.outcome)} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, " · ")
}

// summary counts what was done.
func (s *sheet) summary() string {
	led, confirmed, presses, pauses := 0, 0, 0, 0
	for _, d := range s.rec.reps {
		if d.led {
			led++
		}
		if d.confirmed {
			confirmed++
		}
	}
	for _, f := range s.rec.flags {
		if f.kind == pressFlag {
			presses++
		}
	}
	for i, st := range s.rec.stretches {
		if st.kind == paused && (i == 0 || s.rec.stretches[i-1].kind != paused) {
			pauses++
		}
	}
	return fmt.Sprintf("%s · %s · %s led, %d confirmed by a tap · %s · %s · %s", partWords(s.rec.prog.Part),
		counted(len(s.rec.sets), "set"), counted(led, "repetition"), confirmed,
		countedPresses(presses), counted(pauses, "pause"), counted(len(s.rec.stops), "stop"))
}

// notBegun lists the exercises of the plan that were never begun; empty where
// there are none.
func (s *sheet) notBegun() string {
	var names []string
	for i, it := range s.rec.prog.Items {
		if !s.rec.begun[i+1] {
			names = append(names, fmt.Sprintf("%d %s", i+1, spaced(it.Exercise)))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "Planned and not begun: " + strings.Join(names, " · ")
}

func countedPresses(n int) string {
	if n == 1 {
		return "1 press"
	}
	return fmt.Sprintf("%d presses", n)
}

// describe says in words what the picture shows, for those who cannot see it.
func (s *sheet) describe() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s.", s.summary(), Caution)
	for i := range s.rec.sets {
		d := &s.rec.sets[i]
		fmt.Fprintf(&b, " %s at %s: %s.", spaced(d.entry.Exercise), clock(d.from), d.label())
	}
	for _, f := range s.rec.flags {
		if f.kind != pressFlag {
			fmt.Fprintf(&b, " %s: %s.", clock(f.at), f.label)
		}
	}
	if left := s.notBegun(); left != "" {
		fmt.Fprintf(&b, " %s.", left)
	}
	return b.String()
}
