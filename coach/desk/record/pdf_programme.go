package record

import (
	"fmt"
	"io"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
)

// ProgrammePDF writes one version of what a patient is to do as an A4 archive
// copy. A draft says so across the top. The same values give the same bytes.
func ProgrammePDF(w io.Writer, of Copy, c Clinic, who store.Patient, rx Prescription) error {
	p, err := newPaper(c, of, fmt.Sprintf("Programme, version %d", rx.Version), patientWords(who, who.Tag))
	if err != nil {
		return err
	}
	if rx.Approved == "" {
		p.boxed("Draft. Nobody has approved it; no station coaches by it.")
	} else if rx.Withdrawn {
		p.boxed("Withdrawn. A later version or nothing is in its place.")
	}
	for _, s := range c.standing(rx) {
		p.paragraph(s)
	}
	if rx.Plan == nil {
		p.section("As it was written", 3)
		p.paragraph("The protocol it was read against does not take this text; it stands here as it was written.")
		p.verbatim(rx.Text)
		return p.end(w)
	}
	for _, one := range rx.Plan.Patients {
		p.programme(rx.Plan, one)
	}
	if len(rx.Warnings) > 0 {
		p.section("Warnings the approver saw", 2)
		p.points(rx.Warnings)
	}
	p.section("Fingerprint of the doses", 1)
	p.paragraph(rx.Fingerprint)
	return p.end(w)
}

// standing is who wrote and approved a prescription, when, and for which days.
func (c Clinic) standing(rx Prescription) []string {
	var out []string
	if rx.Written != "" {
		out = append(out, fmt.Sprintf("Written by %s on %s.", rx.Written, c.said(rx.WrittenAt)))
	}
	if rx.Approved != "" {
		out = append(out, fmt.Sprintf("Approved by %s on %s.", rx.Approved, c.said(rx.ApprovedAt)))
	}
	if rx.Plan != nil {
		days := "For " + dayWords(rx.Plan.Day)
		if last := rx.Plan.LastDay(); last != rx.Plan.Day {
			days += " to " + dayWords(last)
		}
		out = append(out, days+".")
	}
	if rx.Expected > 0 {
		out = append(out, "A session is expected to take "+minutes(rx.Expected)+".")
	}
	return out
}

var itemCells = []cell{{"", 0.05, true}, {"Exercise", 0.34, false}, {"Load", 0.13, false}, {"How often", 0.23, false}, {"Pace", 0.25, false}}

func (p *paper) programme(of *plan.Plan, who plan.Patient) {
	if len(who.Precautions) > 0 {
		p.section("Precautions", 2)
		var all []string
		for _, pre := range who.Precautions {
			all = append(all, upper(precautionWords(pre))+".")
		}
		p.points(all)
	}
	p.section("What to do", 5)
	if who.WarmUp > 0 {
		p.paragraph("Warm-up: " + minutes(who.WarmUp) + ".")
	} else if who.WarmUpElsewhere {
		p.paragraph("Warm-up: before coming to the station.")
	}
	var rows [][]string
	for i, it := range who.Items {
		rows = append(rows, []string{fmt.Sprint(i + 1), p.clinic.named(it.Exercise, it.Dose.Stage), loadWords(it.Dose.Load),
			oftenWords(it.Dose, it.Sides), paceShort(it.Pace)})
	}
	p.grid(itemCells, rows)
	if who.CoolDown > 0 {
		p.paragraph("Cool-down: " + minutes(who.CoolDown) + ".")
	} else if who.CoolDownElsewhere {
		p.paragraph("Cool-down: after leaving the station.")
	}
	if who.Note != "" {
		p.section("Spoken to the patient", 2)
		p.paragraph(who.Note)
	}
}

// oftenWords is how often an exercise is done, without its load.
func oftenWords(d coach.Dose, sides coach.Sides) string {
	s := fmt.Sprintf("%d repetitions", d.Reps)
	if d.Sets > 1 {
		s = fmt.Sprintf("%d sets of %d", d.Sets, d.Reps)
	}
	switch sides {
	case coach.EachSide:
		s += " on each side"
	case coach.Alternating:
		s += " in all, the sides in turn"
	case coach.LeftOnly, coach.RightOnly:
		s += " on the " + string(sides) + " alone"
	}
	return s
}

func paceShort(p coach.Pace) string {
	s := fmt.Sprintf("lift %s s, lower %s s", secondsWord(p.Lift), secondsWord(p.Lower))
	if p.Top > 0 || p.Bottom > 0 {
		s += fmt.Sprintf(", still %s s and %s s", secondsWord(p.Top), secondsWord(p.Bottom))
	}
	return s + ", rest " + minutes(p.Rest)
}
