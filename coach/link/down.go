package link

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"

	"evenbell/coach"
)

// State is everything a station is to know, whole. It is sent again whenever
// it has changed.
type State struct {
	Now  time.Time `json:"now"`  // the desk's clock when it was put together; not part of what is compared
	Name string    `json:"name"` // of the station
	// Telephone is the clinic's number, as staff typed it; may be empty.
	Telephone string `json:"telephone"`
	// Plan is the version of the day plan the station is to have, and PlanHash
	// its [Plan.Hash]; 0 and empty for none.
	Plan     int64  `json:"plan"`
	PlanHash string `json:"plan_hash"`
	// KeepPlan says that the desk can't tell which plan the station is to have:
	// it was put back from a backup, and the station may hold a newer one. The
	// station keeps what it has; Plan is then 0.
	KeepPlan bool `json:"keep_plan"`
	// Holds are in force, on every tag that might come to this station. One that
	// came from elsewhere ends when it is no longer listed; one of this station's
	// own only by its Clear, since the desk may not know of it yet.
	Holds []Hold `json:"holds"`
	// Partial says that the desk may not know of every hold: it was put back from
	// a backup and has not heard every station since. No hold then ends by not
	// being listed.
	Partial bool `json:"partial"`
	// Clears are holds that were cleared: at least every one of the last 90 days
	// whose Own names an entry of this station.
	Clears []Clear `json:"clears"`
	// Codes is the counter of the newest telephone code told for this station.
	// It and all before it are good for nothing any more: what they cleared is
	// in Clears, or no longer in Holds.
	Codes int64 `json:"codes"`
	// Release frees the box after its newest stop; null for none.
	Release *Release `json:"release"`
	// Help says that a named person has tapped that they are going; null for
	// none, and again once the attention is closed.
	Help *Help `json:"help"`
	// Next is where people go after this station, where the desk knows better
	// than the plan.
	Next []Next `json:"next"`
	// Recordings are the [Recording.Hash] of every recorded line that the plan
	// uses; the station keeps those and no others.
	Recordings []string `json:"recordings,omitempty"`
}

// Reason says why a tag is held. The desk's own reasons are not told apart
// here; a reader takes what it does not know as "held".
type Reason string

// The reasons.
const (
	HeldStop    Reason = "stop"
	HeldNotWell Reason = "not_well"
	HeldClosing Reason = "closing"
	HeldStaff   Reason = "staff" // somebody said so at the desk
)

// Hold keeps a tag from being coached anywhere until a supervisor clears it.
type Hold struct {
	ID     int64     `json:"id"` // the desk's
	Tag    string    `json:"tag"`
	Reason Reason    `json:"reason"`
	Since  time.Time `json:"since"`
	// Own is the entry of this very station that the hold came from; null where
	// it came from elsewhere.
	Own *Position `json:"own"`
}

// Clear ends one hold.
type Clear struct {
	ID  int64     `json:"id"`
	Tag string    `json:"tag"`
	By  string    `json:"by"`
	At  time.Time `json:"at"`
	Own *Position `json:"own"`
}

// Release frees a box. It does so only while the box's newest stop is Stop: a
// release is never good for a stop that its giver had not seen.
type Release struct {
	Stop Position  `json:"stop"`
	By   string    `json:"by"`
	At   time.Time `json:"at"`
}

// Help says that somebody is on the way to a stop or to a place where nobody
// answers.
type Help struct {
	For Position  `json:"for"` // the entry
	By  string    `json:"by"`
	At  time.Time `json:"at"`
}

// Next is where a tag goes next; Place and At as in a plan.
type Next struct {
	Tag   string          `json:"tag"`
	Place string          `json:"place"`
	At    coach.TimeOfDay `json:"at"` // empty where not known
}

// Plan is a day plan as the desk sends it. Its approval is in its text.
type Plan struct {
	Version  int64  `json:"version"`
	Text     string `json:"text"`     // a plan file
	Protocol string `json:"protocol"` // the clinic's own protocol file; empty for the built-in
}

// Hash tells the plan from any other: a SHA-256 over version, text and
// protocol, in hexadecimal.
func (p Plan) Hash() string {
	sum := sha256.New()
	fmt.Fprintf(sum, "%d %d:%s%d:%s", p.Version, len(p.Text), p.Text, len(p.Protocol), p.Protocol)
	return hex.EncodeToString(sum.Sum(nil))
}

// Recording is a line of an exercise of the clinic's own that somebody
// recorded. It is spoken in place of exactly these words.
type Recording struct {
	Language string `json:"language"` // of the words, as voice packs name it
	Text     string `json:"text"`
	Sound    []byte `json:"sound"` // a file; what is in it is the two ends' own matter
}

// MaxSound is the most bytes of a recording's sound: a line of JSON holds it.
const MaxSound = 750_000

// Hash tells the recording from any other, its words included: a SHA-256 in
// hexadecimal.
func (r Recording) Hash() string {
	sum := sha256.New()
	fmt.Fprintf(sum, "%d:%s%d:%s%d:", len(r.Language), r.Language, len(r.Text), r.Text, len(r.Sound))
	sum.Write(r.Sound)
	return hex.EncodeToString(sum.Sum(nil))
}
