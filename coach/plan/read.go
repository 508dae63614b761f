package plan

import (
	"bytes"
	"regexp"
	"strings"
	"unicode"

	"evenbell/coach"
	"evenbell/coach/protocol"
	"evenbell/coach/strict"
)

// Read reads and checks a day plan, which came from the file of that name,
// against a protocol (nil for the default). It gives every fault at once, in
// order of line; where any of them is more than a warning, the plan is nil.
func Read(file string, text []byte, p *protocol.Protocol) (*Plan, []coach.Fault) {
	r := &reader{plan: &Plan{Protocol: p}, file: strict.Parse(file, text)}
	r.protocol = r.plan.protocol()
	if r.file.Format("day-plan", 1) {
		r.read(r.file.Root())
	}
	faults := r.file.Faults()
	if len(coach.Errors(faults)) == 0 && !r.approvedAsItIs() {
		faults = r.file.Faults()
	}
	if len(coach.Errors(faults)) > 0 {
		return nil, faults
	}
	return r.plan, faults
}

// ReadDays reads only which days a plan is for, first and last, whatever else is
// to be said of it; false where it does not say.
func ReadDays(text []byte) (first, last coach.Day, ok bool) {
	head, _, _ := bytes.Cut(text, []byte("\n[")) // they stand before the first table
	r := &reader{plan: &Plan{}, file: strict.Parse("", head)}
	if r.file.Format("day-plan", 1) {
		r.days(r.file.Root())
	}
	return r.plan.Day, r.plan.LastDay(), r.plan.Day != ""
}

// reader fills a plan from one file.
type reader struct {
	plan     *Plan
	protocol *protocol.Protocol
	file     *strict.File
	approval *strict.Table
	names    map[string]taken
}

// taken is where a tag or a call word was given first.
type taken struct {
	what string
	line int
}

func (r *reader) read(t *strict.Table) {
	p := r.plan
	r.days(t)
	p.Clinic = line(t, "clinic", strict.Required, longestLine)
	p.Voice = voice(t)
	p.Unit, _ = strict.Choice(t, "unit", strict.Required, coach.Kilogram, coach.Pound)
	r.readApproval(t)
	p.Pace = UsualPace(r.protocol)
	if pace, ok := t.Table("pace", strict.Optional); ok {
		p.Pace = r.pace(pace, p.Pace)
	}
	p.Own = readOwn(t)
	patients, ok := t.Tables("patient", strict.Required)
	if ok && len(patients) == 0 {
		t.Fault("patient", "there is nobody in this plan; at least one [[patient]]")
	}
	r.names = map[string]taken{}
	for _, sub := range patients {
		p.Patients = append(p.Patients, r.patient(sub))
	}
}

func (r *reader) days(t *strict.Table) {
	p := r.plan
	p.Day, _ = t.Day("day", strict.Required)
	p.Until, _ = t.Day("until", strict.Optional)
	if p.Until != "" && p.Until < p.Day {
		t.Fault("until", "is %s, before the plan's day %s; on that day or later", p.Until, p.Day)
	}
}

var packName = regexp.MustCompile(`^[a-z]{2,3}(-[a-z0-9]+)*$`)

func voice(t *strict.Table) string {
	const usual = "en"
	v, ok := t.Text("voice", strict.Optional)
	if !ok {
		return usual
	}
	if !packName.MatchString(v) {
		t.Fault("voice", "%q is no name of a voice pack; small letters, the language first, such as %q or %q", v, usual, "es-marta")
	}
	return v
}

// longestLine is the most letters of a text a person writes in a plan.
const longestLine = 80

// line reads a text of one line with something in it, of at most so many
// letters.
func line(t *strict.Table, key string, need strict.Need, longest int) string {
	s, ok := t.Text(key, need)
	if !ok {
		return ""
	}
	switch {
	case strings.TrimSpace(s) == "":
		t.Fault(key, "is empty; from 1 to %d letters", longest)
	case len([]rune(s)) > longest:
		t.Fault(key, "is %d letters long; at most %d", len([]rune(s)), longest)
	case strings.ContainsFunc(s, func(c rune) bool { return !unicode.IsPrint(c) }):
		t.Fault(key, "holds line breaks or signs that cannot be shown; one line of plain text")
	}
	return s
}

var fingerprintForm = regexp.MustCompile(`^[0-9a-f]{64}$`)

func (r *reader) readApproval(t *strict.Table) {
	a, ok := t.Table("approval", strict.Optional)
	if !ok {
		if !t.Has("approval") {
			t.Warn("approval", "missing: nobody has approved this plan, so station run refuses it; render and rehearse say so and go on")
		}
		return
	}
	r.approval = a
	v := &Approval{By: line(a, "by", strict.Required, longestLine)}
	v.At, _ = a.Time("at", strict.Required)
	v.SHA256, ok = a.Text("sha256", strict.Optional)
	if ok && !fingerprintForm.MatchString(v.SHA256) {
		a.Fault("sha256", "is no fingerprint; 64 digits of 0-9 and a-f, as a desk writes them, or leave it out")
	}
	v.Parent, ok = a.Text("parent", strict.Optional)
	switch {
	case ok && !fingerprintForm.MatchString(v.Parent):
		a.Fault("parent", "is no fingerprint; 64 digits of 0-9 and a-f, of the plan this one was made from, or leave it out")
	case ok && !a.Has("sha256"):
		a.Fault("parent", "is given without sha256; what was made from an approved plan carries its own fingerprint too")
	}
	r.plan.Approval = v
}

// approvedAsItIs reports whether the doses are those that were approved, and
// records a fault if they are not. It has a sense only on a plan without errors.
func (r *reader) approvedAsItIs() bool {
	a := r.plan.Approval
	if a == nil || a.SHA256 == "" || a.SHA256 == r.plan.Fingerprint() {
		return true
	}
	r.approval.Fault("sha256", "the doses are not the ones %s approved: the plan was changed since; have it approved again (its fingerprint is now %s)", a.By, r.plan.Fingerprint())
	return false
}
