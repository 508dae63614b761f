package record

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
	"evenbell/coach/review"

	"github.com/google/uuid"
)

// Prescription is one version of what a patient is to do, with what it reads
// as and what the approver saw beside it.
type Prescription struct {
	store.Prescription
	Plan     *plan.Plan    // nil where the text can't be read by the protocol it is read against
	Warnings []string      // as shown to the approver
	Expected time.Duration // how long a session was said to take; 0 where not told
}

// Proposed is a proposal that nobody has answered.
type Proposed struct {
	dose.Proposal
	Day coach.Day // on which it was made
}

// Chart is everything of one patient that goes into a FHIR bundle.
type Chart struct {
	Clinic        Clinic
	Made          time.Time      // the moment of making the bundle
	Patient       store.Patient  // an empty Name leaves it out
	Prescriptions []Prescription // in any order
	Sessions      []Session
	Visits        []review.Visit // what the sessions are parts of
	Screenings    []store.Screening
	Decisions     []store.Decision
	Proposals     []Proposed
	Attentions    []store.Attention
}

// house is the namespace of every id; a clinic's own lies within it, so that
// two clinics with the same tags never share an id.
var house = uuid.MustParse("6d3b1e0e-3c52-4f0b-9d0a-6f2f0f6b9c41")

// FHIR writes a patient's record as a FHIR R4 bundle of type collection. Ids
// are UUIDs made from the desk's own ids (RFC 9562, version 5), so a second
// export of the same record has the same. The plan becomes CarePlan with a
// ServiceRequest an item, a session a Procedure, a visit of several sessions the
// Encounter they refer to, a set, a screening's reading and an attention an
// Observation, a proposal a ServiceRequest with intent
// proposal, an approval a Provenance. The codes of our own stand in the
// bundle as CodeSystem.
// The error says that the patient has no tag, or is w's.
func FHIR(w io.Writer, c Chart) error {
	if c.Patient.Tag == "" {
		return errors.New("a record needs the patient's tag")
	}
	b := &builder{Chart: c, space: uuid.NewSHA1(house, []byte(c.Clinic.Name)), have: map[string]reference{}, in: map[string]visited{}}
	b.clinic()
	b.codes()
	b.patient()
	b.plans()
	b.visits()
	b.sessions()
	b.screenings()
	b.proposals()
	b.attentions()
	out := bundle{ResourceType: "Bundle", ID: b.id("bundle", c.Patient.Tag), Type: "collection",
		Timestamp: c.Clinic.stamp(c.Made), Entry: b.out}
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(out); err != nil {
		return fmt.Errorf("writing the record of %s: %w", c.Patient.Tag, err)
	}
	return nil
}

// builder gathers the resources of a bundle.
type builder struct {
	Chart
	space   uuid.UUID
	out     []whole
	have    map[string]reference
	in      map[string]visited // by session
	subject reference
	owner   reference
}

func (b *builder) id(kind string, key any) string {
	return uuid.NewSHA1(b.space, fmt.Appendf(nil, "%s/%v", kind, key)).String()
}

func (b *builder) head(kind, what string, key any) head { return head{kind, b.id(what, key)} }

// add puts a resource into the bundle and refers to it.
func (b *builder) add(h head, resource any) reference {
	url := "urn:uuid:" + h.ID
	b.out = append(b.out, whole{url, resource})
	return reference{Reference: url}
}

// known refers to what may be in the bundle; nil where it is not.
func (b *builder) known(kind string, key any) []reference {
	if r, ok := b.have[b.id(kind, key)]; ok {
		return []reference{r}
	}
	return nil
}

func (b *builder) clinic() {
	o := organization{head: b.head("Organization", "clinic", ""), Name: cmp.Or(clean(b.Clinic.Name), "a clinic without a name")}
	if t := clean(b.Clinic.Telephone); t != "" {
		o.Telecom = []contactPoint{{"phone", t}}
	}
	b.owner = b.add(o.head, o)
}

func (b *builder) codes() {
	system := func(url, name, title, about, content string, of []codeConcept) {
		s := codeSystem{b.head("CodeSystem", "codes", url), url, name, title, "active", about, content, of}
		b.add(s.head, s)
	}
	system(measures, "EvenbellMeasure", "What a session measures",
		"Measures of paced resistance exercise, local to this program.", "complete", measured)
	system(answers, "EvenbellAnswer", "Answers and endings", "Values of the measures, local to this program.", "complete", answered)
	var named []codeConcept
	for _, id := range b.exerciseIDs() {
		named = append(named, codeConcept{Code: id, Display: b.Clinic.exerciseConcept(id).Text})
	}
	if len(named) > 0 {
		system(exercises, "EvenbellExercise", "Exercises", "The exercises this record names, local to the clinic.", "fragment", named)
	}
}

// exerciseIDs are all exercises the record names, in order of id.
func (b *builder) exerciseIDs() []string {
	var ids []string
	for _, p := range b.Prescriptions {
		if p.Plan == nil {
			continue
		}
		for _, who := range p.Plan.Patients {
			for _, it := range who.Items {
				ids = append(ids, it.Exercise)
			}
		}
	}
	for _, s := range b.Sessions {
		for _, it := range s.Items {
			ids = append(ids, it.Exercise)
		}
	}
	for _, d := range b.Decisions {
		ids = append(ids, d.Exercise)
	}
	for _, p := range b.Proposals {
		ids = append(ids, p.Exercise)
	}
	slices.Sort(ids)
	return slices.Compact(ids)
}

func (b *builder) patient() {
	p := person{head: b.head("Patient", "patient", b.Patient.Tag), BirthDate: string(b.Patient.Record.Born),
		Identifier: []identifier{{tags, b.Patient.Tag}}, ManagingOrganization: &b.owner}
	if name := clean(b.Patient.Name); name != "" {
		p.Name = []humanName{{name}}
	} else {
		p.BirthDate = "" // without a name, no other mark of the person either
	}
	b.subject = b.add(p.head, p)
	for _, e := range b.Patient.Record.Events {
		key := fmt.Sprint(e.Day, "/", e.What)
		if clean(e.What) == "" || b.known("event", key) != nil {
			continue
		}
		c := condition{head: b.head("Condition", "event", key), Code: concept{Text: clean(e.What)}, Subject: b.subject, OnsetDateTime: string(e.Day)}
		b.have[c.ID] = b.add(c.head, c)
	}
	for _, p := range b.Patient.Record.Precautions {
		if key := fmt.Sprint(p); b.known("precaution", key) == nil {
			b.have[b.id("precaution", key)] = b.precaution(key, p)
		}
	}
}

func (b *builder) precaution(key string, p coach.Precaution) reference {
	f := flag{head: b.head("Flag", "precaution", key), Status: "active", Subject: b.subject,
		Category: []concept{{Text: "precaution for exercise"}},
		Code:     concept{Coding: []coding{{System: precautions, Code: string(p.Kind)}}, Text: precautionWords(p)}}
	if p.Since != "" || p.Until != "" {
		f.Period = &period{string(p.Since), string(p.Until)}
	}
	if p.Until != "" && p.Until < coach.DayOf(b.Clinic.in(b.Made)) {
		f.Status = "inactive"
	}
	return b.add(f.head, f)
}

// staff refers to a member of staff by name; nil for nobody.
func (b *builder) staff(name string) *reference {
	if name = clean(name); name == "" {
		return nil
	}
	id := b.id("staff", name)
	if r, ok := b.have[id]; ok {
		return &r
	}
	p := practitioner{head: b.head("Practitioner", "staff", name), Name: []humanName{{name}}}
	r := b.add(p.head, p)
	b.have[id] = r
	return &r
}

// station refers to a station by name; nil for none.
func (b *builder) station(name string) *reference {
	if name = clean(name); name == "" {
		return nil
	}
	id := b.id("station", name)
	if r, ok := b.have[id]; ok {
		return &r
	}
	d := device{head: b.head("Device", "station", name), DeviceName: []deviceName{{name, "user-friendly-name"}}, Owner: &b.owner}
	r := b.add(d.head, d)
	b.have[id] = r
	return &r
}

// approved says who stands for something, and since when.
func (b *builder) approved(key string, at time.Time, by, what string, targets ...reference) {
	who := b.staff(by)
	if who == nil || at.IsZero() {
		return
	}
	p := provenance{head: b.head("Provenance", "approval", key), Target: targets, Recorded: b.Clinic.stamp(at),
		Activity: &concept{Text: what},
		Agent:    []agent{{concept{Coding: []coding{{participants, "verifier", "Verifier"}}}, *who}}}
	b.add(p.head, p)
}

// clean is text as FHIR takes it: no control characters but tab and line ends
// (R4, string), and nothing where only spaces are.
func clean(s string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if r != '\t' && r != '\n' && r != '\r' && (unicode.IsControl(r) || unicode.IsSpace(r)) {
			return ' '
		}
		return r
	}, s))
}

// remark adds a note, if it says something.
func remark(notes []annotation, by, at, text string) []annotation {
	if text = clean(text); text == "" {
		return notes
	}
	return append(notes, annotation{clean(by), at, text})
}

func precautionWords(p coach.Precaution) string {
	s := map[coach.PrecautionKind]string{
		coach.Sternum: "healing breastbone", coach.ShoulderTrouble: "shoulder", coach.KneeTrouble: "knee",
		coach.LowerBackTrouble: "lower back", coach.NoFloor: "nothing on the floor", coach.PoorBalance: "poor balance",
		coach.DeviceArm: "arm beside a pacemaker or defibrillator", coach.WristTrouble: "wrist", coach.NeckTrouble: "neck",
	}[p.Kind]
	if s == "" {
		s = string(p.Kind)
	}
	if p.Side == coach.Left || p.Side == coach.Right {
		s += ", " + string(p.Side)
	}
	if p.Until != "" {
		s += ", until " + dayWords(p.Until)
	}
	return s
}
