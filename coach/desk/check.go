package desk

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// Checked is a plan's text, looked at.
type Checked struct {
	Plan        *plan.Plan    // with the record's precautions; nil with any fault that is not a warning
	Faults      []coach.Fault // warnings included, in order of line
	Fingerprint string        // what an approver has looked at; empty with faults
	Length      time.Duration // of the session with a patient who answers at once; 0 where unknown
}

// prescriptionName is what faults call a prescription.
const prescriptionName = "plan"

// CheckPlan looks at the text of a plan for one patient, by the clinic's
// protocol and the patient's record. A plan for another tag, or for several,
// is a fault.
func (d *Desk) CheckPlan(ctx context.Context, who Actor, tag, text string) (*Checked, error) {
	if err := who.check(WritePlan); err != nil {
		return nil, err
	}
	p, err := d.patientTagged(ctx, tag)
	if err != nil {
		return nil, err
	}
	return d.checkDraft(ctx, p, text)
}

// checkDraft is checkPlan for what is not approved yet.
func (d *Desk) checkDraft(ctx context.Context, who store.Patient, text string) (*Checked, error) {
	c, err := d.checkPlan(ctx, who, text)
	if err != nil || c.Plan == nil {
		return c, err
	}
	unsigned, err := d.unsignedFaults(ctx, c.Plan, text)
	if len(unsigned) > 0 {
		c.Plan, c.Fingerprint, c.Faults = nil, "", append(c.Faults, unsigned...)
		slices.SortStableFunc(c.Faults, func(a, b coach.Fault) int { return cmp.Compare(a.Line, b.Line) })
	}
	return c, err
}

func (d *Desk) checkPlan(ctx context.Context, who store.Patient, text string) (*Checked, error) {
	limits, err := d.Protocol(ctx)
	if err != nil {
		return nil, err
	}
	c := checkFor(limits, who, text)
	if c.Plan != nil {
		c.Length, err = d.lengthOf(c.Plan, who.Tag)
	}
	return c, err
}

// lengthOf is how long one patient's session of a plan takes.
func (d *Desk) lengthOf(p *plan.Plan, tag string) (time.Duration, error) {
	if d.length == nil {
		return 0, nil
	}
	prog, err := p.Resolve(tag, p.Day)
	if err != nil {
		return 0, fmt.Errorf("asking how long a session is: %w", err)
	}
	_, n, err := d.length(p.Voice, prog)
	if err != nil {
		return 0, fmt.Errorf("asking how long a session is: %w", err)
	}
	return n, nil
}

// checkFor reads a plan for one patient. The precautions of the record are put
// beside those of the plan, and what goes against them is a fault too; the home
// is that of the record.
func checkFor(limits *protocol.Protocol, who store.Patient, text string) *Checked {
	pl, faults := plan.Read(prescriptionName, []byte(text), limits)
	c := &Checked{Faults: withoutApproval(faults)}
	if pl == nil {
		return c
	}
	if f := notFor(pl, who.Tag); f != nil {
		c.Faults = append(c.Faults, *f)
		return c
	}
	mine := &pl.Patients[0]
	all := union(mine.Precautions, precautions(limits, who.Record, pl.Day))
	pl.Approval = nil
	home := HomeOf(who.Record, limits)
	faults = append(faults, notAtHome(pl, who.Record, []byte(text))...)
	slices.SortStableFunc(faults, func(a, b coach.Fault) int { return a.Line - b.Line })
	c.Faults = withoutApproval(faults)
	if len(all) == len(mine.Precautions) && reflect.DeepEqual(home, mine.Home) {
		c.Plan, c.Fingerprint = pl, pl.Fingerprint()
		return c
	}
	mine.Precautions, mine.Home = all, home
	written := plan.Write(pl)
	full, more := plan.Read(prescriptionName, written, limits)
	c.Faults = withoutApproval(moved(more, written, []byte(text), faults))
	if full != nil {
		c.Plan, c.Fingerprint = full, full.Fingerprint()
	}
	return c
}

// withoutApproval leaves out what is no news about a draft.
func withoutApproval(faults []coach.Fault) []coach.Fault {
	var out []coach.Fault
	for _, f := range faults {
		if !f.Warning || f.Key != "approval" {
			out = append(out, f)
		}
	}
	return out
}

func notFor(pl *plan.Plan, tag string) *coach.Fault {
	switch first := pl.Patients[0]; {
	case len(pl.Patients) > 1:
		return &coach.Fault{File: prescriptionName, Key: "patient", Message: fmt.Sprintf("there are %d patients; one, %s: each has a plan of their own", len(pl.Patients), tag)}
	case first.Tag != tag:
		return &coach.Fault{File: prescriptionName, Key: "patient.tag", Message: fmt.Sprintf("is %q; this is the plan of %s", first.Tag, tag)}
	case first.Part != coach.Whole:
		return &coach.Fault{File: prescriptionName, Key: "patient.part", Message: fmt.Sprintf("is %q; what is prescribed is a whole session, and a class divides it", first.Part)}
	}
	return nil
}

var itemHead = regexp.MustCompile(`(?m)^[ \t]*\[\[[ \t]*patient[ \t]*\.[ \t]*item[ \t]*\]\]`)

// moved gives the faults of the written form the lines of the text they came
// from, as far as they belong to an item. Those that the text had itself keep
// their lines.
func moved(faults []coach.Fault, written, text []byte, own []coach.Fault) []coach.Fault {
	heads, at := lines(written), lines(text)
	out := append([]coach.Fault(nil), own...)
	for _, f := range faults {
		n := 0
		for n < len(heads) && heads[n] <= f.Line {
			n++
		}
		f.Line = 0
		if n > 0 && len(at) == len(heads) {
			f.Line = at[n-1]
		}
		if !said(own, f) {
			out = append(out, f)
		}
	}
	return out
}

func said(own []coach.Fault, f coach.Fault) bool {
	for _, o := range own {
		if o.Key == f.Key && o.Message == f.Message {
			return true
		}
	}
	return false
}

// lines are where the items of a plan's text begin.
func lines(text []byte) []int {
	var out []int
	for _, at := range itemHead.FindAllIndex(text, -1) {
		out = append(out, 1+bytes.Count(text[:at[0]], []byte("\n")))
	}
	return out
}
