package record

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
	"evenbell/coach/protocol"
)

// Incident is what is known around one session, for whoever has to find out
// what happened in it.
type Incident struct {
	Clinic  Clinic
	Made    time.Time     // the moment of making the file
	By      string        // who asked for it
	Patient store.Patient // an empty Name leaves it out
	Station store.Station
	Session string // its id
	// Entries are the station's log from the session's first entry to what
	// came after it, such as the release; whole runs of numbers, so that the
	// chain can be checked. A tag's holds from elsewhere may be among them.
	Entries []Entry
	// Before is, for each epoch, the chain's hash before the first entry
	// given: the zero hash where that is entry 1.
	Before      map[string]journal.Hash
	Visit       []Part             // of the visit, this session included, in their order; fewer than two for no others
	Approved    []Prescription     // of the patient's, those in force then
	Plan        *store.StationPlan // what the station was sent; nil for none
	PlanPrint   string             // fingerprint of that plan's text, as a station computes it; empty where unknown
	Protocol    *store.Protocol    // the clinic's own then in force; nil for the default
	Limits      *protocol.Protocol // the same, read; nil for the default, or where it can't be read
	Precautions []coach.Precaution // then in force
	Screenings  []store.Screening
	Attentions  []store.Attention
	Holds       []store.Hold
	OnDuty      []Duty
	SelfTests   []SelfTest
	Breaks      []store.Break
	Gaps        []Gap           // beside those the log itself tells of
	Contacts    []store.Contact // by which times were derived
	Audit       []store.AuditLine
}

// Part is one session of a visit.
type Part struct {
	store.Session
	StationName string
}

// Duty is a member of staff who was logged in.
type Duty struct {
	Name string     `json:"name"`
	Role store.Role `json:"role"`
	From time.Time  `json:"from"`
	To   time.Time  `json:"to,omitzero"` // zero while it goes on
}

// SelfTest is what a station found wrong with itself, or that it found nothing.
type SelfTest struct {
	At       time.Time `json:"at"`
	OK       bool      `json:"ok"`
	Findings []string  `json:"findings"` // one a part
}

// Report makes the incident ready. The error names an entry whose line is
// none; an entry that only breaks the chain is a finding, not an error.
func (in Incident) Report() (*Report, error) {
	in.Entries = slices.Clone(in.Entries)
	slices.SortStableFunc(in.Entries, byPosition)
	all, _, err := Read(in.Entries, in.Clinic.zone())
	if err != nil {
		return nil, fmt.Errorf("reading the log of session %s: %w", in.Session, err)
	}
	i := slices.IndexFunc(all, func(s Session) bool { return s.ID == in.Session })
	if i < 0 {
		return nil, fmt.Errorf("the log has no entry of session %s", in.Session)
	}
	s := all[i]
	c := in.Clinic
	moments, err := in.moments()
	if err != nil {
		return nil, err
	}
	out := &Report{Format: "incident/1", Clinic: c.Name, Caution: Caution, Made: c.stamp(in.Made), By: in.By,
		Tag: in.Patient.Tag, Name: in.Patient.Name, Station: in.Station.Name, StationKey: in.Station.Key, Session: in.Session,
		Note:         NoteOf(in.noteOf(s)),
		Fingerprints: in.fingerprints(s), Chains: Chains(in.Entries, in.Before), Timings: in.timings(),
		Visit: in.visit(), Approved: in.approved(), Precautions: []string{}, Screenings: in.screenings(),
		Moments: moments, Log: in.log()}
	out.ChainHolds = !slices.ContainsFunc(out.Chains, func(c Chain) bool { return !c.Holds })
	in.around(out)
	for _, p := range in.Precautions {
		out.Precautions = append(out.Precautions, precautionWords(p))
	}
	out.Plan, out.Protocol, out.InForce = in.sent(), in.protocol(), in.inForce()
	return out, nil
}

// around is what stands beside the log, its times in the clinic's zone.
func (in Incident) around(out *Report) {
	c := in.Clinic
	out.OnDuty, out.SelfTests, out.Gaps = []Duty{}, []SelfTest{}, []Gap{}
	for _, d := range in.OnDuty {
		out.OnDuty = append(out.OnDuty, Duty{d.Name, d.Role, c.in(d.From), c.in(d.To)})
	}
	for _, t := range in.SelfTests {
		out.SelfTests = append(out.SelfTests, SelfTest{c.in(t.At), t.OK, nonNil(t.Findings)})
	}
	for _, g := range slices.Concat(in.logGaps(), in.Gaps) {
		out.Gaps = append(out.Gaps, Gap{g.What, c.in(g.From), c.in(g.To)})
	}
}

func nonNil[T any](all []T) []T {
	if all == nil {
		return []T{}
	}
	return all
}

// byPosition keeps the epochs in the order given and sorts within each.
func byPosition(a, b Entry) int {
	if a.Epoch != b.Epoch {
		return 0
	}
	return cmp.Compare(a.Seq, b.Seq)
}

func (in Incident) noteOf(s Session) NoteInput {
	n := NoteInput{Clinic: in.Clinic, Patient: in.Patient, Sessions: []Session{s}, Protocol: in.Limits}
	for _, a := range in.Attentions {
		if a.Session == in.Session {
			n.Attentions = append(n.Attentions, a)
		}
	}
	n.Holds = in.Holds
	for i, sc := range in.Screenings {
		if sc.Day == s.Day() {
			n.Screening = &in.Screenings[i]
		}
	}
	for _, p := range in.Approved {
		if p.Plan != nil {
			n.Planned = itemsOf(p.Plan, s.Tag)
		}
	}
	if in.Plan != nil && n.ofPart() {
		n.Planned = PlannedAt(in.Plan.Text, in.Limits, s.Tag)
	}
	return n
}

// visit are the other parts of the visit, each with how it ended.
func (in Incident) visit() []VisitPart {
	out := []VisitPart{}
	for _, p := range in.Visit {
		if p.ID == in.Session {
			continue
		}
		out = append(out, VisitPart{Session: p.ID, Station: p.StationName, Part: p.Part, Began: in.Clinic.stamp(p.Begun), Ended: in.Clinic.stamp(p.Newest),
			WithinS: coach.Seconds(p.Within).String(), Outcome: p.Outcome, How: outcomeWords(p.Outcome)})
	}
	return out
}

func (in Incident) fingerprints(s Session) []Fingerprint {
	out := []Fingerprint{{"plan", s.Made.Plan, in.PlanPrint}, {"protocol", s.Made.Protocol, in.inForce().Fingerprint},
		{"voice", s.Made.Voice, ""}, {"program", s.Made.Program, ""}}
	for _, r := range s.Made.Recorded {
		out = append(out, Fingerprint{recordingOf(r), r.Hash, ""})
	}
	return out
}

func (in Incident) approved() []ApprovedText {
	out := []ApprovedText{}
	for _, p := range in.Approved {
		out = append(out, ApprovedText{Version: p.Version, Written: p.Written, WrittenAt: in.Clinic.stamp(p.WrittenAt),
			By: p.Prescription.Approved, At: in.Clinic.stamp(p.ApprovedAt), Fingerprint: p.Fingerprint, Text: p.Text,
			Warnings: nonNil(p.Warnings), ExpectedS: int(p.Expected / time.Second), Withdrawn: p.Withdrawn, Protocol: judgedBy(p)})
		if by := out[len(out)-1].Protocol; by != nil {
			out[len(out)-1].Differs = !by.same(in.inForce())
		}
	}
	return out
}

// judgedBy is the protocol that a version was approved by. What was approved
// before all of it was kept tells the number of the clinic's own alone.
func judgedBy(p Prescription) *ProtocolMark {
	if p.Seen.Print == "" && p.Seen.Protocol == 0 {
		return nil
	}
	return &ProtocolMark{p.Seen.Protocol, p.Seen.Edition, p.Seen.Print}
}

// inForce is the desk's protocol at the session; without a fingerprint where it
// can't be read any more.
func (in Incident) inForce() (m ProtocolMark) {
	limits := in.Limits
	if in.Protocol != nil {
		m.Version = in.Protocol.Version
	} else if limits == nil {
		limits = protocol.Default()
	}
	if limits != nil {
		m.Edition, m.Fingerprint = limits.Name(), limits.Fingerprint()
	}
	return m
}

func (in Incident) sent() *SentPlan {
	if in.Plan == nil {
		return nil
	}
	p := in.Plan
	out := &SentPlan{Version: p.Version, Text: p.Text, By: p.Sent, At: in.Clinic.stamp(p.SentAt), Refused: p.Refused}
	if p.DeliveredAt != nil {
		out.Delivered = in.Clinic.stamp(*p.DeliveredAt)
	}
	if p.TakenAt != nil {
		out.Taken = in.Clinic.stamp(*p.TakenAt)
	}
	return out
}

func (in Incident) protocol() *ProtocolText {
	if in.Protocol == nil {
		return nil
	}
	p := in.Protocol
	return &ProtocolText{p.Version, p.By, in.Clinic.stamp(p.At), p.Text}
}

func (in Incident) screenings() []ScreeningText {
	out := []ScreeningText{}
	for _, s := range in.Screenings {
		one := ScreeningText{At: in.Clinic.stamp(s.At), By: s.By, Verdict: string(s.Result.Verdict), Lines: []string{}}
		for _, l := range s.Result.Lines {
			one.Lines = append(one.Lines, screeningLine(l))
		}
		out = append(out, one)
	}
	return out
}

func (in Incident) log() []LogLine {
	out := []LogLine{}
	for _, e := range in.Entries {
		out = append(out, LogLine{json.RawMessage(e.Line), string(e.Line), e.Hash.String(), in.Clinic.stamp(e.Received), e.Carried})
	}
	return out
}
