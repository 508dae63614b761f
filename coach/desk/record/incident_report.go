package record

import (
	"encoding/json"
	"fmt"

	"evenbell/coach"
)

// Report is an incident made ready: to be written, printed or shown.
type Report struct {
	Format       string          `json:"format"` // "incident/1"
	Clinic       string          `json:"clinic"`
	Caution      string          `json:"caution"`
	Made         string          `json:"made"` // RFC 3339 in the clinic's zone, as all times
	By           string          `json:"by"`
	Tag          string          `json:"tag"`
	Name         string          `json:"name,omitempty"`
	Station      string          `json:"station"`
	StationKey   string          `json:"station_key,omitempty"` // SHA-256 of its public key
	Session      string          `json:"session"`
	Visit        []VisitPart     `json:"visit"` // the other parts of the same visit, in their order
	Note         Note            `json:"note"`
	ChainHolds   bool            `json:"chain_holds"` // every one of Chains
	Fingerprints []Fingerprint   `json:"fingerprints"`
	Chains       []Chain         `json:"chains"`
	Timings      []Timing        `json:"timings"`
	Approved     []ApprovedText  `json:"approved"`
	Plan         *SentPlan       `json:"plan"`
	Protocol     *ProtocolText   `json:"protocol"`
	InForce      ProtocolMark    `json:"protocol_in_force"` // when the session began
	Precautions  []string        `json:"precautions"`
	Screenings   []ScreeningText `json:"screenings"`
	OnDuty       []Duty          `json:"on_duty"`
	SelfTests    []SelfTest      `json:"self_tests"`
	Gaps         []Gap           `json:"gaps"`
	Moments      []Moment        `json:"moments"`
	Log          []LogLine       `json:"log"`
}

// VisitPart is another session of the same visit, at another place.
type VisitPart struct {
	Session string        `json:"session"` // its id
	Station string        `json:"station"`
	Part    coach.Part    `json:"part"`
	Began   string        `json:"began,omitempty"` // empty where nobody can tell, as Ended
	Ended   string        `json:"ended,omitempty"`
	WithinS string        `json:"within_s"` // how far these may be off, in seconds
	Outcome coach.Outcome `json:"outcome"`  // empty where the log does not say
	How     string        `json:"how"`      // the same in plain words
}

// Words is which part it was: "the first part"; empty for a whole session.
func (p VisitPart) Words() string {
	if p.Part == "" || p.Part == coach.Whole {
		return ""
	}
	return partWords(p.Part)
}

// Fingerprint is what the session was made from, beside what the desk knows of
// it.
type Fingerprint struct {
	What    string `json:"what"` // plan, protocol, voice, program, or a recording of some words
	Session string `json:"session"`
	Desk    string `json:"desk,omitempty"` // empty where the desk has none to compare
}

// Same reports whether the desk has the same; false where it has none.
func (f Fingerprint) Same() bool { return f.Desk != "" && f.Desk == f.Session }

// ApprovedText is what an approver saw.
type ApprovedText struct {
	Version     int64    `json:"version"`
	Written     string   `json:"written_by"`
	WrittenAt   string   `json:"written_at"`
	By          string   `json:"by"`
	At          string   `json:"at"`
	Fingerprint string   `json:"fingerprint"`
	Text        string   `json:"text"`
	Warnings    []string `json:"warnings"`
	ExpectedS   int      `json:"expected_s"`
	Withdrawn   bool     `json:"withdrawn"`
	// Protocol is the one it was judged by then; nil where that was not kept.
	Protocol *ProtocolMark `json:"protocol"`
	// Differs is where another protocol was in force when the session began.
	Differs bool `json:"protocol_differs"`
}

// ProtocolMark tells a protocol apart from every other.
type ProtocolMark struct {
	Version     int64  `json:"version"` // of the clinic's own; 0 for the built-in
	Edition     string `json:"edition"` // its name and edition; empty where not known
	Fingerprint string `json:"fingerprint"`
}

// same reports whether two are one protocol, by what is known of both.
func (m ProtocolMark) same(o ProtocolMark) bool {
	if m.Fingerprint == "" || o.Fingerprint == "" {
		return m.Version == o.Version
	}
	return m.Fingerprint == o.Fingerprint
}

// String says which protocol it is.
func (m ProtocolMark) String() string {
	what := "the built-in protocol"
	if m.Version > 0 {
		what = fmt.Sprintf("the clinic’s protocol, version %d", m.Version)
	}
	if m.Edition != "" {
		what += ", " + m.Edition
	}
	if m.Fingerprint != "" {
		what += ", fingerprint " + m.Fingerprint
	}
	return what
}

// SentPlan is the station's plan of the day.
type SentPlan struct {
	Version   int64  `json:"version"`
	Text      string `json:"text"`
	By        string `json:"sent_by"`
	At        string `json:"sent_at"`
	Delivered string `json:"delivered_at,omitempty"`
	Taken     string `json:"taken_at,omitempty"`
	Refused   string `json:"refused,omitempty"`
}

// ProtocolText is the clinic's own protocol.
type ProtocolText struct {
	Version int64  `json:"version"`
	By      string `json:"by"`
	At      string `json:"at"`
	Text    string `json:"text"`
}

// ScreeningText is a screening, line by line.
type ScreeningText struct {
	At      string   `json:"at"`
	By      string   `json:"by"`
	Verdict string   `json:"verdict"`
	Lines   []string `json:"lines"`
}

// LogLine is an entry as the station wrote it: Entry to be read, Line the very
// text the chain is over, Hash the SHA-256 over the hash before it and Line.
type LogLine struct {
	Entry    json.RawMessage `json:"entry"`
	Line     string          `json:"line"`
	Hash     string          `json:"hash"`
	Received string          `json:"received,omitempty"`
	Carried  bool            `json:"carried"` // by stick
}
