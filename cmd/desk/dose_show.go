package main

import (
	"fmt"
	"strings"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/review"
)

// proposal is what desk dose next prints.
type proposal struct {
	Tag      string   `json:"tag"`
	Exercise string   `json:"exercise"`
	Action   string   `json:"action"`
	Rule     string   `json:"rule"`
	From     doseJSON `json:"from"`
	To       doseJSON `json:"to"`
	Reasons  []string `json:"reasons"`
	Sessions []looked `json:"sessions"`
	Observe  bool     `json:"observe"` // staff have to watch
	Finding  string   `json:"finding"`
	Marks    []string `json:"marks"` // what is wrong with the log
}

type doseJSON struct {
	Load  coach.Load `json:"load"`
	Reps  int        `json:"reps"`
	Sets  int        `json:"sets"`
	Stage string     `json:"stage"`
}

// looked is a session the rule looked at: several of the log where they lie
// close together.
type looked struct {
	Day      coach.Day     `json:"day"` // empty where the log does not say
	Sessions []string      `json:"sessions"`
	Dose     doseJSON      `json:"dose"`
	Result   string        `json:"result"`
	Reserve  coach.Reserve `json:"reserve"`
}

func proposalOf(tag string, got dose.Proposal, log *review.Log) proposal {
	out := proposal{Tag: tag, Exercise: got.Exercise, Action: string(got.Action), Rule: string(got.Rule),
		From: doseJSON(got.From), To: doseJSON(got.To), Reasons: got.Reasons, Observe: got.Observe, Finding: got.Finding,
		Sessions: []looked{}, Marks: []string{}}
	for _, s := range got.Sessions {
		var day coach.Day
		if !s.At.IsZero() {
			day = coach.DayOf(s.At)
		}
		out.Sessions = append(out.Sessions, looked{day, s.IDs, doseJSON(s.Dose), string(s.Result), s.Reserve})
	}
	for _, m := range log.Marks {
		out.Marks = append(out.Marks, string(m))
	}
	for _, s := range log.Sessions {
		for _, m := range s.Marks {
			out.Marks = append(out.Marks, fmt.Sprintf("session %s of %s: %s", s.ID, dayWord(s), m))
		}
	}
	return out
}

func dayWord(s *review.Session) string {
	if s.Day() == "" {
		return "an unknown day"
	}
	return string(s.Day())
}

func (p *program) showNext(asJSON bool, out proposal) error {
	if asJSON {
		return p.json(out)
	}
	w := p.stdout
	fmt.Fprintf(w, "%s, %s: %s (%s)\n", out.Tag, out.Exercise, out.Action, out.Rule)
	fmt.Fprintf(w, "  from %s\n", out.From)
	if out.To != out.From {
		fmt.Fprintf(w, "  to   %s\n", out.To)
	}
	fmt.Fprintln(w, "why:")
	p.reasons(out.Reasons)
	if out.Finding != "" {
		fmt.Fprintf(w, "look at:\n  %s\n", out.Finding)
	}
	if len(out.Sessions) > 0 {
		fmt.Fprintln(w, "from the sessions:")
	}
	for _, s := range out.Sessions {
		reserve := string(s.Reserve)
		if reserve == "" {
			reserve = "no answer"
		}
		day := string(s.Day)
		if day == "" {
			day = "an unknown day"
		}
		fmt.Fprintf(w, "  %s: %s, %s, left: %s\n", day, s.Dose, s.Result, reserve)
	}
	if len(out.Marks) > 0 {
		fmt.Fprintf(w, "the log:\n  %s\n", strings.Join(out.Marks, "\n  "))
	}
	fmt.Fprintln(w, "Nothing changes until a supervisor approves it.")
	return nil
}

// String writes a dose for a person to read.
func (d doseJSON) String() string {
	s := fmt.Sprintf("%s, %d of %d", d.Load, d.Sets, d.Reps)
	if d.Stage != "" {
		s += ", " + d.Stage
	}
	return s
}
