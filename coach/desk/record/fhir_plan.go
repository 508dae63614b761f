package record

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
)

// plans turns each version of a prescription into a CarePlan, an item of it
// into a ServiceRequest.
func (b *builder) plans() {
	var before []reference
	for _, p := range slices.SortedFunc(slices.Values(b.Prescriptions), byVersion) {
		before = b.plan(p, before)
	}
}

func byVersion(a, b Prescription) int { return cmp.Compare(a.Version, b.Version) }

func (b *builder) plan(p Prescription, before []reference) []reference {
	c := carePlan{head: b.head("CarePlan", "prescription", p.ID), Status: p.status(), Intent: "plan", Subject: b.subject,
		Title:   fmt.Sprintf("Resistance programme, version %d", p.Version),
		Created: b.Clinic.stamp(p.WrittenAt), Author: b.staff(p.Written)}
	if p.Approved != "" {
		c.Replaces = before
	}
	if p.Fingerprint != "" {
		c.Identifier = []identifier{{prints, p.Fingerprint}}
	}
	var items []reference
	if p.Plan == nil {
		c.Description = clean(p.Text) // what was written, since it can't be read today
		c.Note = remark(c.Note, "", "", "The text can't be read by the protocol it was read against; it stands as it was written.")
	} else {
		c.Period = planPeriod(p.Plan)
		c.Description, items = b.items(p)
	}
	for _, r := range items {
		c.Activity = append(c.Activity, carePlanActivity{r})
	}
	for _, w := range p.Warnings {
		c.Note = remark(c.Note, "", "", "Warning shown to the approver: "+w)
	}
	if p.Expected > 0 {
		c.Note = remark(c.Note, "", "", "Expected duration of a session: "+minutes(p.Expected))
	}
	r := b.add(c.head, c)
	b.have[c.ID] = r
	b.approved(fmt.Sprint("prescription/", p.ID), p.ApprovedAt, p.Approved, "approval of the programme", append([]reference{r}, items...)...)
	if p.Approved == "" {
		return before
	}
	return []reference{r}
}

// status is a prescription's, as a request has it.
func (p Prescription) status() string {
	switch {
	case p.Approved == "":
		return "draft"
	case p.Withdrawn:
		return "revoked"
	}
	return "active"
}

func planPeriod(p *plan.Plan) *period { return &period{string(p.Day), string(p.LastDay())} }

// items are the ServiceRequests of a prescription, and how it reads.
func (b *builder) items(p Prescription) (string, []reference) {
	var words []string
	var out []reference
	for _, who := range p.Plan.Patients {
		if who.WarmUp > 0 {
			words = append(words, "warm-up "+minutes(who.WarmUp))
		}
		for i, it := range who.Items {
			r := b.item(p, i, it)
			out = append(out, r)
			words = append(words, b.Clinic.exercise(it.Exercise)+" "+doseWords(it.Dose, it.Sides))
		}
		if who.CoolDown > 0 {
			words = append(words, "cool-down "+minutes(who.CoolDown))
		}
	}
	return strings.Join(words, "; "), out
}

func (b *builder) item(p Prescription, i int, it plan.Item) reference {
	s := serviceRequest{head: b.head("ServiceRequest", "item", fmt.Sprint(p.ID, "/", i+1)), Status: p.status(), Intent: "plan",
		Code: b.Clinic.exerciseConcept(it.Exercise), Subject: b.subject, OccurrencePeriod: planPeriod(p.Plan),
		AuthoredOn: b.Clinic.stamp(p.WrittenAt), Requester: b.staff(p.Written), Extension: doseExtension(doses, it.Dose)}
	if p.Approved != "" {
		s.Intent, s.AuthoredOn, s.Requester = "order", b.Clinic.stamp(p.ApprovedAt), b.staff(p.Approved)
	}
	s.OrderDetail = []concept{{Text: doseWords(it.Dose, it.Sides)}, {Text: paceWords(it.Pace)}}
	if stage := b.Clinic.stage(it.Exercise, it.Dose.Stage); stage != "" {
		s.OrderDetail = append(s.OrderDetail, concept{Text: clean("stage: " + stage)})
	}
	if it.Sides == coach.LeftOnly || it.Sides == coach.RightOnly {
		s.BodySite = []concept{*answer(string(it.Sides))}
	}
	return b.add(s.head, s)
}

// doseExtension carries a dose as numbers, since a ServiceRequest has no place
// for three of them.
func doseExtension(url string, d coach.Dose) []extension {
	load := extension{URL: "load", ValueString: d.Load.String()}
	if d.Load.Kind() == coach.DumbbellLoad {
		load = extension{URL: "load", ValueQuantity: mass(d.Load)}
	}
	of := []extension{load, {URL: "reps", ValueInteger: &d.Reps}, {URL: "sets", ValueInteger: &d.Sets}}
	if d.Stage != "" {
		of = append(of, extension{URL: "stage", ValueString: d.Stage})
	}
	return []extension{{URL: url, Extension: of}}
}

// doseWords is a dose as people read it: "2 sets of 10 on each side, 2.5 kg".
func doseWords(d coach.Dose, sides coach.Sides) string {
	return oftenWords(d, sides) + ", " + loadWords(d.Load)
}

func loadWords(l coach.Load) string {
	if l.Kind() == coach.BodyLoad {
		return "no weight"
	}
	return l.String()
}

func paceWords(p coach.Pace) string {
	s := fmt.Sprintf("lift %s s, lower %s s", secondsWord(p.Lift), secondsWord(p.Lower))
	if p.Top > 0 {
		s += fmt.Sprintf(", still at the top %s s", secondsWord(p.Top))
	}
	if p.Bottom > 0 {
		s += fmt.Sprintf(", still at the bottom %s s", secondsWord(p.Bottom))
	}
	return s + fmt.Sprintf(", rest %s s", secondsWord(p.Rest))
}

// secondsWord is a time in seconds without needless decimals.
func secondsWord(d time.Duration) string { return coach.Decimal(d.Milliseconds()) }

// minutes is a time as people say it: "5 min" or "4 min 30 s".
func minutes(d time.Duration) string {
	d = d.Round(time.Second)
	m, s := int(d/time.Minute), int(d%time.Minute/time.Second)
	switch {
	case m == 0:
		return fmt.Sprintf("%d s", s)
	case s == 0:
		return fmt.Sprintf("%d min", m)
	}
	return fmt.Sprintf("%d min %d s", m, s)
}

// proposals turns decisions and unanswered proposals into ServiceRequests with
// intent proposal.
func (b *builder) proposals() {
	for _, d := range b.Decisions {
		b.decision(d)
	}
	for _, p := range b.Proposals {
		key := fmt.Sprint(p.Exercise, "/", p.Day)
		s := b.proposal(b.head("ServiceRequest", "proposal", key), p)
		s.Status, s.AuthoredOn = "active", string(p.Day)
		b.add(s.head, s)
	}
}

func (b *builder) proposal(h head, p Proposed) serviceRequest {
	s := serviceRequest{head: h, Intent: "proposal", Code: b.Clinic.exerciseConcept(p.Exercise), Subject: b.subject,
		Extension: doseExtension(doses, p.To), OrderDetail: []concept{{Text: doseWords(p.To, "")}}}
	for _, r := range p.Reasons {
		if r = clean(r); r != "" {
			s.ReasonCode = append(s.ReasonCode, concept{Text: r})
		}
	}
	for _, seen := range p.Sessions {
		for _, id := range seen.IDs {
			s.SupportingInfo = append(s.SupportingInfo, b.known("session", id)...)
		}
	}
	s.Note = remark(s.Note, "", "", fmt.Sprintf("Proposed by rule %s: %s, from %s to %s. Nothing changes until a named supervisor approves it.",
		p.Rule, p.Action, doseWords(p.From, ""), doseWords(p.To, "")))
	if p.Finding != "" {
		s.Note = remark(s.Note, "", "", "To look at: "+p.Finding)
	}
	if p.Observe {
		s.Note = remark(s.Note, "", "", "Staff are to watch the next session.")
	}
	return s
}

func (b *builder) decision(d store.Decision) {
	p := d.Proposal
	p.Exercise = d.Exercise
	s := b.proposal(b.head("ServiceRequest", "decision", d.ID), Proposed{Proposal: p})
	s.AuthoredOn = b.Clinic.stamp(d.At)
	s.Status = map[store.Answer]string{store.Accepted: "completed", store.Changed: "completed", store.Declined: "revoked"}[d.Answer]
	text := "Answer: " + string(d.Answer)
	if d.Answer == store.Changed {
		text += ", to " + doseWords(d.To, "")
		s.Extension = append(s.Extension, doseExtension(decided, d.To)...)
	}
	if d.Reason != "" {
		text += ". Reason: " + d.Reason
	}
	if d.Undone {
		s.Status, text = "entered-in-error", text+". Undone before it was used."
	}
	if s.Status == "" {
		s.Status = "unknown"
	}
	s.Note = remark(s.Note, d.By, b.Clinic.stamp(d.At), text)
	r := b.add(s.head, s)
	if !d.Undone {
		b.approved(fmt.Sprint("decision/", d.ID), d.At, d.By, "proposal "+string(d.Answer), r)
	}
}
