package store

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// Station is a device the desk knows.
type Station struct {
	ID       int64
	Name     string // unique
	Place    string // where it stands, as spoken: "the place by the window"
	Key      string // SHA-256 of its public key, hexadecimal; empty until it is enrolled
	Secret   []byte // shared at enrolment, for codes told over the telephone
	Codes    int64  // telephone codes given out so far
	Enrolled *time.Time
	Revoked  *time.Time
	Seen     *time.Time // last contact
	Status   string     // what it last said of itself, JSON of the link's status
}

// EnrolmentCode lets one device in, once.
type EnrolmentCode struct {
	ID      int64
	Station int64
	Code    string // kept until it is used or has expired, since it keys a MAC
	Expires time.Time
	Tries   int // wrong ones so far
	Used    bool
}

// Entry is one log record as the desk keeps it.
type Entry struct {
	Station int64
	journal.Record
	Session, Tag string
	Kind         coach.EntryKind
	// At is when it happened: the entry's own wall time, or derived from a
	// contact on the same boot. Zero while nobody can tell.
	At time.Time
	// Within is how far At may be off; 0 for the entry's own wall time.
	Within   time.Duration
	Received time.Time
	// Carried is true where it came by stick.
	Carried bool
}

// Contact ties a boot's clock to the desk's, at one exchange.
type Contact struct {
	Station int64
	Boot    string
	MonoNS  int64     // on the station's clock
	At      time.Time // on the desk's
	Within  time.Duration
}

// Epoch is what the desk has of one start of a station's program.
type Epoch struct {
	Station  int64
	Epoch    string
	Mark     int64 // every entry up to it is here
	Hash     journal.Hash
	Boot     string
	Previous coach.StartData
	First    time.Time // first and last received
	Last     time.Time
	Moved    int64 // the store's version when Mark last moved
}

// Break is something wrong with a log: a lost tail, a chain that does not
// hold, a number used twice.
type Break struct {
	ID      int64
	Station int64
	journal.Position
	What   string
	Line   string // what came in place of the entry kept; empty where nothing did
	At     time.Time
	Mended *time.Time // what was missing came after all
}

// Reason says why somebody must look.
type Reason string

// The reasons.
const (
	StopPressed    Reason = "stop"
	NotWell        Reason = "not_well"
	ClosingSymptom Reason = "closing"
	NoAnswer       Reason = "no_answer"
	LostStation    Reason = "lost"
	LogDamaged     Reason = "log"
	PartFailed     Reason = "fault"
	PlanUnknown    Reason = "plan"     // a station has a plan that this desk never sent
	Restored       Reason = "restored" // a backup was put back, and not every log has come in since
)

// Attention is something staff must look at. Each step has its time; a step
// that has not happened has none.
type Attention struct {
	ID             int64
	Reason         Reason
	Station        int64
	Tag, Session   string
	Symptom        string           // named afterwards; empty if none was
	Entry          journal.Position // zero where no entry stands for it
	Raised         time.Time        // when it happened, as far as known
	Within         time.Duration    // how far that may be off
	Delivered      time.Time        // at the desk
	Shown          *time.Time       // first on a page
	Acknowledged   *time.Time
	AcknowledgedBy string
	Going          *time.Time // a named person is on the way
	GoingBy        string
	Told           *time.Time // the station has said that help is coming
	Closed         *time.Time
	ClosedBy       string
	Done, Ended    string // what was done, how it ended
}

// Hold keeps a tag from being coached anywhere until a supervisor clears it.
type Hold struct {
	ID        int64
	Tag       string
	Attention int64
	Reason    Reason
	Since     time.Time
	Cleared   *time.Time
	ClearedBy string
	Note      string
}
