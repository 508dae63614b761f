package link

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// Position names an entry of a log on the wire. It converts to
// journal.Position and back.
type Position struct {
	Epoch string `json:"epoch"`
	Seq   int64  `json:"seq"`
}

// Mark says that the desk has every entry of an epoch up to Seq; 0 for none.
type Mark Position

// MarksAsked asks for the marks of epochs, at most MaxEpochs at once.
type MarksAsked struct {
	Epochs []string `json:"epochs"`
}

// MaxEpochs is how many marks can be asked for at once.
const MaxEpochs = 1000

// Marks answers, in the order asked.
type Marks struct {
	Marks []Mark `json:"marks"`
}

// Batch is a stretch of one epoch of a log.
type Batch struct {
	Epoch  string
	After  int64        // the number before the first record
	Before journal.Hash // the chain's hash there; zeros where After is 0
	// Gone is true where the station no longer has what lies between the desk's
	// mark and After.
	Gone    bool
	Records []journal.Record // After+1, After+2, …; none only where Gone
	// Carried is true where it came by stick. The wire has no room for it: who
	// reads a stick sets it.
	Carried bool
}

// Urgent is an entry that people must see now; see IsUrgent. Line is the
// entry as the log has it, and Entry the same, read.
type Urgent struct {
	Line  []byte
	Entry coach.Entry
	// Boot and MonoNS are now on the station's clock, so that the age of the
	// entry is known without any wall clock where Boot is the entry's own.
	Boot   string
	MonoNS int64
}

// Contact ties a boot's clock to the desk's: when the station's boot clock
// stood at MonoNS, the desk's stood at At, give or take Within. The station
// measures it from the answer to a status, so both bounds are hard.
type Contact struct {
	Boot     string    `json:"boot"`
	MonoNS   int64     `json:"mono_ns"`
	At       time.Time `json:"at"`
	WithinNS int64     `json:"within_ns"`
}

// Met answers a status: the desk's time, for the next Contact.
type Met struct {
	Now time.Time `json:"now"`
}

// Status is how a station is: each second while a session runs, else every two.
type Status struct {
	Program string     `json:"program"` // fingerprint
	Boot    string     `json:"boot"`
	MonoNS  int64      `json:"mono_ns"` // when this was put together
	Wall    *time.Time `json:"wall"`    // what the station's clock says, believed or not
	Trusted bool       `json:"trusted"`
	Contact *Contact   `json:"contact"` // the newest; null before the first

	Unsent   int64    `json:"unsent"`    // entries the desk has not said that it has
	VolumeDB float64  `json:"volume_db"` // of the station, against the reference level
	Voice    string   `json:"voice"`     // name and fingerprint of the voice last used
	Sound    string   `json:"sound"`     // where it goes, in words
	Space    int      `json:"space"`     // days of room for the log
	SelfTest SelfTest `json:"self_test"` // the last
	Reads    []string `json:"reads"`     // formats it reads, such as "day-plan/1"

	Plan    PlanStatus     `json:"plan"`
	Locked  *Position      `json:"locked"` // the newest stop, while nobody has released the box
	Held    []string       `json:"held"`   // tags it will not coach
	Session *SessionStatus `json:"session"`
}

// SelfTest is what the last self-test found; At is null where its time is not
// known, and it has no Findings where there was none.
type SelfTest struct {
	At       *time.Time `json:"at"`
	OK       bool       `json:"ok"`
	Findings []string   `json:"findings"` // one line a part
}

// PlanStatus says which of the desk's plans the station has. Versions are 0
// for none.
type PlanStatus struct {
	Delivered   int64  `json:"delivered"`   // durable on the station
	Taken       int64  `json:"taken"`       // what it coaches by
	Refused     int64  `json:"refused"`     // what it will not coach by
	Why         string `json:"why"`         // of Refused, in plain words
	Fingerprint string `json:"fingerprint"` // of the plan taken
}

// SessionStatus is where a session is.
type SessionStatus struct {
	ID       string     `json:"id"`
	Tag      string     `json:"tag"`
	Part     coach.Part `json:"part"`
	Item     int        `json:"item"` // from 1; 0 outside an item
	Items    int        `json:"items"`
	Exercise string     `json:"exercise"`
	Set      int        `json:"set"`
	Rep      int        `json:"rep"`
	Waiting  string     `json:"waiting"` // a question id, "ready", "effort" or "paused"; empty where it goes on by itself
	RestS    int        `json:"rest_s"`  // seconds of rest left, rounded up; 0 while not resting
	Look     bool       `json:"look"`    // stopped, or nobody answers
	Outcome  string     `json:"outcome"` // once finished
}

// IsUrgent reports whether people must see an entry at once: a stop and what
// is said to be felt after it, "not well" in whatever question, a place where
// nobody answers, a broken part, and that help was told to be coming.
func IsUrgent(e coach.Entry) bool {
	switch d := e.Data.(type) {
	case *coach.QuestionData:
		return d.Unwell() || d.ID == coach.QuestionSymptom
	case *coach.HelpData:
		return true
	}
	switch e.Kind {
	case coach.EntryStop, coach.EntryNoAnswer, coach.EntryFault, coach.EntryRelease, coach.EntryClear:
		return true
	}
	return false
}

// HoldReason says why an entry holds its tag until a supervisor clears it:
// after a stop, a "no" to a question of how somebody is before exercise, or a
// symptom at the close. It is
// false for every other entry, and for one without a tag.
func HoldReason(e coach.Entry) (Reason, bool) {
	if e.Tag == "" {
		return "", false
	}
	if e.Kind == coach.EntryStop {
		return HeldStop, true
	}
	d, ok := e.Data.(*coach.QuestionData)
	if !ok || d.Answer != coach.AnswerNotWell {
		return "", false
	}
	switch d.ID {
	case coach.QuestionWell, coach.QuestionSymptoms, coach.QuestionTablets:
		return HeldNotWell, true
	case coach.QuestionClosing:
		return HeldClosing, true
	}
	return "", false
}
