package store

import (
	"context"
	"database/sql"
	"errors"
	"iter"
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
)

var errBuilding = errors.New("being built")

// Errors a caller branches on.
var (
	ErrNotFound = errors.New("not found")
	ErrTaken    = errors.New("already taken")                      // a name, tag or key that must be unique
	ErrChanged  = errors.New("somebody else changed it meanwhile") // an older version was to be saved
	ErrState    = errors.New("not possible in its present state")  // such as approving what is no draft
	ErrFailed   = errors.New("the store has failed and takes no more")
	ErrInUse    = errors.New("another program is using this folder")
)

// Store …
type Store struct{}

// Open opens desk.db in dir, laying it out or bringing its schema up to date first.
func Open(ctx context.Context, dir string) (*Store, error) { return nil, errBuilding }

// OpenPostgres takes a PostgreSQL database; the caller brings the driver.
func OpenPostgres(ctx context.Context, db *sql.DB) (*Store, error) { return nil, errBuilding }

func (s *Store) Close() error { return nil }

// Serve claims the folder for one server; ErrInUse if another has it.
func (s *Store) Serve() error { return nil }

// Failed is closed when the store has failed for good; Err then says why.
func (s *Store) Failed() <-chan struct{} { return nil }
func (s *Store) Err() error              { return nil }

// Changed gives a channel that is closed at the next change by anybody, other
// processes included (within a quarter of a second). Take it before reading.
func (s *Store) Changed() <-chan struct{} { return nil }

// Version counts the changes.
func (s *Store) Version(ctx context.Context) (int64, error) { return 0, errBuilding }

// Together makes everything done with the context it passes to work one
// transaction: all or nothing. Never use the outer context inside.
func (s *Store) Together(ctx context.Context, work func(context.Context) error) error {
	return errBuilding
}

// Staff and logins.
func (s *Store) AddStaff(ctx context.Context, m Staff) (Staff, error) { return m, errBuilding }
func (s *Store) Staff(ctx context.Context, id int64) (Staff, error)   { return Staff{}, errBuilding }
func (s *Store) StaffByName(ctx context.Context, name string) (Staff, error) {
	return Staff{}, errBuilding
}
func (s *Store) StaffList(ctx context.Context) ([]Staff, error)                  { return nil, errBuilding }
func (s *Store) SetPassword(ctx context.Context, id int64, encoded string) error { return errBuilding }
func (s *Store) SetRole(ctx context.Context, id int64, role Role) error          { return errBuilding }
func (s *Store) SetDisabled(ctx context.Context, id int64, disabled bool) error  { return errBuilding }
func (s *Store) AddLogin(ctx context.Context, l Login) error                     { return errBuilding }
func (s *Store) Login(ctx context.Context, hash string) (Login, error)           { return Login{}, errBuilding }
func (s *Store) TouchLogin(ctx context.Context, hash string, at time.Time) error { return errBuilding }
func (s *Store) EndLogin(ctx context.Context, hash string) error                 { return errBuilding }
func (s *Store) EndLoginsOf(ctx context.Context, staff int64) error              { return errBuilding }
func (s *Store) EndLoginsBefore(ctx context.Context, created, seen time.Time) (int64, error) {
	return 0, errBuilding
}

// Patients and screenings.
type PatientFilter struct {
	Current bool   // only those whose programme goes on
	Text    string // in name or tag, any case
}

func (s *Store) AddPatient(ctx context.Context, p Patient) (Patient, error) { return p, errBuilding }
func (s *Store) Patient(ctx context.Context, id int64) (Patient, error) {
	return Patient{}, errBuilding
}
func (s *Store) PatientByTag(ctx context.Context, tag string) (Patient, error) {
	return Patient{}, errBuilding
}
func (s *Store) Patients(ctx context.Context, f PatientFilter) ([]Patient, error) {
	return nil, errBuilding
}
func (s *Store) UpdatePatient(ctx context.Context, p Patient) (Patient, error) { return p, errBuilding }
func (s *Store) EnsureTag(ctx context.Context, tag string) (Patient, error) {
	return Patient{}, errBuilding
}
func (s *Store) AddScreening(ctx context.Context, sc Screening) (Screening, error) {
	return sc, errBuilding
}
func (s *Store) ScreeningsOf(ctx context.Context, patient int64, limit int) ([]Screening, error) {
	return nil, errBuilding
} // newest first; limit 0 for all

// Prescriptions and decisions.
func (s *Store) AddPrescription(ctx context.Context, p Prescription) (Prescription, error) {
	return p, errBuilding
} // a draft
func (s *Store) Prescription(ctx context.Context, id int64) (Prescription, error) {
	return Prescription{}, errBuilding
}
func (s *Store) PrescriptionsOf(ctx context.Context, patient int64) ([]Prescription, error) {
	return nil, errBuilding
} // newest first
func (s *Store) InForce(ctx context.Context, patient int64) (Prescription, error) {
	return Prescription{}, errBuilding
} // the approved one
func (s *Store) Approve(ctx context.Context, id int64, text, by string, at time.Time) (Prescription, error) {
	return Prescription{}, errBuilding
}                                                                              // text as approved ("" keeps it); withdraws the earlier ones
func (s *Store) Withdraw(ctx context.Context, id int64) error                  { return errBuilding }
func (s *Store) AddDecision(ctx context.Context, d Decision) (Decision, error) { return d, errBuilding }
func (s *Store) UndoDecision(ctx context.Context, id int64) error              { return errBuilding }
func (s *Store) UseDecision(ctx context.Context, id, prescription int64) error { return errBuilding }
func (s *Store) DecisionsOf(ctx context.Context, patient int64) ([]Decision, error) {
	return nil, errBuilding
} // newest first

// Station plans.
func (s *Store) SendPlan(ctx context.Context, p StationPlan) (StationPlan, error) {
	return p, errBuilding
}
func (s *Store) PlanFor(ctx context.Context, station int64) (StationPlan, error) {
	return StationPlan{}, errBuilding
} // the newest
func (s *Store) StationPlan(ctx context.Context, id int64) (StationPlan, error) {
	return StationPlan{}, errBuilding
}
func (s *Store) StationPlansOn(ctx context.Context, day coach.Day) ([]StationPlan, error) {
	return nil, errBuilding
} // in force on the day, newest of each station
func (s *Store) StationPlansOf(ctx context.Context, station int64) ([]StationPlan, error) {
	return nil, errBuilding
}                                                                                // newest first
func (s *Store) PlanDelivered(ctx context.Context, id int64, at time.Time) error { return errBuilding }
func (s *Store) PlanTaken(ctx context.Context, id int64, at time.Time) error     { return errBuilding }
func (s *Store) PlanRefused(ctx context.Context, id int64, why string) error     { return errBuilding }

// Classes, protocol versions, settings.
func (s *Store) AddClass(ctx context.Context, c Class) (Class, error) { return c, errBuilding }
func (s *Store) SetTimetable(ctx context.Context, id int64, timetable string) error {
	return errBuilding
}
func (s *Store) Class(ctx context.Context, id int64) (Class, error) { return Class{}, errBuilding }
func (s *Store) Classes(ctx context.Context, from, to coach.Day) ([]Class, error) {
	return nil, errBuilding
}
func (s *Store) AddProtocol(ctx context.Context, p Protocol) (Protocol, error) { return p, errBuilding }
func (s *Store) Protocol(ctx context.Context) (Protocol, error)                { return Protocol{}, errBuilding } // the newest
func (s *Store) Protocols(ctx context.Context) ([]Protocol, error)             { return nil, errBuilding }        // newest first
func (s *Store) Setting(ctx context.Context, key string) (string, error)       { return "", errBuilding }         // "" where unset
func (s *Store) SetSetting(ctx context.Context, key, value string) error       { return errBuilding }
func (s *Store) Settings(ctx context.Context) (map[string]string, error)       { return nil, errBuilding }

// Stations and codes.
func (s *Store) AddStation(ctx context.Context, st Station) (Station, error) { return st, errBuilding }
func (s *Store) Station(ctx context.Context, id int64) (Station, error) {
	return Station{}, errBuilding
}
func (s *Store) StationByName(ctx context.Context, name string) (Station, error) {
	return Station{}, errBuilding
}
func (s *Store) StationByKey(ctx context.Context, key string) (Station, error) {
	return Station{}, errBuilding
}                                                                // revoked ones too
func (s *Store) Stations(ctx context.Context) ([]Station, error) { return nil, errBuilding }
func (s *Store) RenameStation(ctx context.Context, id int64, name, place string) error {
	return errBuilding
}
func (s *Store) Enrol(ctx context.Context, id int64, key string, secret []byte, at time.Time) error {
	return errBuilding
}
func (s *Store) Revoke(ctx context.Context, id int64, at time.Time) error { return errBuilding }
func (s *Store) SawStation(ctx context.Context, id int64, at time.Time, status string) error {
	return errBuilding
} // "" keeps the status
func (s *Store) NextTelephoneCode(ctx context.Context, id int64) (int64, error) {
	return 0, errBuilding
} // the counter to use, never given again
func (s *Store) AddCode(ctx context.Context, c EnrolmentCode) (EnrolmentCode, error) {
	return c, errBuilding
} // ends the station's earlier ones
func (s *Store) OpenCodes(ctx context.Context, now time.Time) ([]EnrolmentCode, error) {
	return nil, errBuilding
}
func (s *Store) WrongTry(ctx context.Context, code int64) (tries int, err error) {
	return 0, errBuilding
}
func (s *Store) UseCode(ctx context.Context, code int64, now time.Time) error { return errBuilding } // once; ErrState after

// Logs.

// Batch is log records of one station as they came in.
type Batch struct {
	Station  int64
	Records  []journal.Record // in the order of the log; may run over several epochs
	Gone     *journal.Hash    // the station no longer has what comes before Records[0]: the chain's hash there
	Contact  *Contact         // of the exchange they came with, if there was one
	Received time.Time
	Carried  bool // by stick
}

// Appended is what a batch did.
type Appended struct {
	Mark   journal.Position // of the epoch of the last record: every entry up to it is here
	Added  []Entry          // new ones, in the order of the log, dated as far as possible
	Breaks []Break          // new ones
}

// GapError says that entries between Mark and what came are missing. Nothing
// was stored; send again from after Mark.
type GapError struct{ Mark, Came journal.Position }

func (e *GapError) Error() string { return "" }

// LineError says that a line is not the entry it should be. Nothing of the
// batch was stored; a Break was.
type LineError struct {
	journal.Position
	Detail string
}

func (e *LineError) Error() string { return "" }

// EntryFilter chooses entries; a zero field chooses all.
type EntryFilter struct {
	Tag, Session string
	Station      int64
	Epoch        string
	Kinds        []coach.EntryKind
	Without      []coach.EntryKind
	Since, Until time.Time // At, from and before
	After        int64     // seq, with Epoch
	Limit        int
}

// Session is what the log has of one session on one station.
type Session struct {
	ID            string
	Station       int64
	Epoch         string
	Tag           string
	First, Last   int64 // seq
	Entries       int64
	Begun, Newest time.Time // of its first and newest entry; Zero while nobody can tell
	Within        time.Duration
	Part          coach.Part
	Plan, Resumes string
	Outcome       coach.Outcome // empty while it goes on
	Stopped       bool          // a stop was pressed in it
}

// SessionFilter chooses sessions; a zero field chooses all.
type SessionFilter struct {
	Tag          string
	Station      int64
	Since, Until time.Time // Begun
	Limit        int       // the newest
}

func (s *Store) Append(ctx context.Context, b Batch) (Appended, error) {
	return Appended{}, errBuilding
}
func (s *Store) Mark(ctx context.Context, station int64, epoch string) (Epoch, error) {
	return Epoch{}, errBuilding
}                                                                                   // ErrNotFound where nothing of it is here
func (s *Store) Epochs(ctx context.Context, station int64) ([]Epoch, error)         { return nil, errBuilding } // in the order they came
func (s *Store) Moved(ctx context.Context, since int64) ([]Epoch, error)            { return nil, errBuilding } // epochs whose mark moved after that version
func (s *Store) Entries(ctx context.Context, f EntryFilter) iter.Seq2[Entry, error] { return nil }              // by time; by seq where Session or Epoch is given
func (s *Store) Sessions(ctx context.Context, f SessionFilter) ([]Session, error) {
	return nil, errBuilding
} // oldest first
func (s *Store) Session(ctx context.Context, id string) (Session, error) {
	return Session{}, errBuilding
}
func (s *Store) VerifyLog(ctx context.Context, station int64, epoch string) error { return errBuilding }      // *journal.CorruptError
func (s *Store) Breaks(ctx context.Context, station int64) ([]Break, error)       { return nil, errBuilding } // 0: all
func (s *Store) SaveContact(ctx context.Context, c Contact) error                 { return errBuilding }

// Attentions and holds.
func (s *Store) RaiseAttention(ctx context.Context, a Attention) (at Attention, raised bool, err error) {
	return a, false, errBuilding
} // once for an Entry; the one that stands if it was raised before
func (s *Store) Attention(ctx context.Context, id int64) (Attention, error) {
	return Attention{}, errBuilding
}
func (s *Store) OpenAttentions(ctx context.Context) ([]Attention, error) { return nil, errBuilding }

// AttentionFilter chooses attentions; a zero field chooses all.
type AttentionFilter struct {
	Tag, Session string
	Station      int64
	Since, Until time.Time // Raised
}

func (s *Store) Attentions(ctx context.Context, f AttentionFilter) ([]Attention, error) {
	return nil, errBuilding
}

// Each step counts once: the first stays. All give the attention as it then stands.
func (s *Store) AttentionShown(ctx context.Context, id int64, at time.Time) (Attention, error) {
	return Attention{}, errBuilding
}
func (s *Store) AcknowledgeAttention(ctx context.Context, id int64, by string, at time.Time) (Attention, error) {
	return Attention{}, errBuilding
}
func (s *Store) AttentionGoing(ctx context.Context, id int64, by string, at time.Time) (Attention, error) {
	return Attention{}, errBuilding
}
func (s *Store) AttentionTold(ctx context.Context, id int64, at time.Time) (Attention, error) {
	return Attention{}, errBuilding
}
func (s *Store) AttentionSymptom(ctx context.Context, id int64, symptom string) (Attention, error) {
	return Attention{}, errBuilding
}
func (s *Store) AttentionRaisedAt(ctx context.Context, id int64, at time.Time, within time.Duration) (Attention, error) {
	return Attention{}, errBuilding
} // a better time, known later
func (s *Store) CloseAttention(ctx context.Context, id int64, by string, at time.Time, done, ended string) (Attention, error) {
	return Attention{}, errBuilding
}
func (s *Store) AddHold(ctx context.Context, h Hold) (Hold, error) { return h, errBuilding } // one open for a tag and attention; the one that stands
func (s *Store) ClearHold(ctx context.Context, id int64, by, note string, at time.Time) (Hold, error) {
	return Hold{}, errBuilding
}
func (s *Store) OpenHolds(ctx context.Context) ([]Hold, error)           { return nil, errBuilding }
func (s *Store) HoldsOf(ctx context.Context, tag string) ([]Hold, error) { return nil, errBuilding } // newest first

// AuditLine is one line of the audit trail.
type AuditLine struct {
	ID                          int64 // from 1 without gaps
	At                          time.Time
	By, Action, Subject, Detail string
	Hash                        string
}

func (s *Store) Audit(ctx context.Context, l AuditLine) error             { return errBuilding }
func (s *Store) VerifyAudit(ctx context.Context) (lines int64, err error) { return 0, errBuilding }

// AuditFilter chooses lines; a zero field chooses all.
type AuditFilter struct {
	Since, Until        time.Time
	By, Action, Subject string
	After               int64 // ID
	Limit               int   // the newest where After is zero
}

func (s *Store) AuditLines(ctx context.Context, f AuditFilter) ([]AuditLine, error) {
	return nil, errBuilding
} // oldest first

// Keeping and giving away.
func (s *Store) Forget(ctx context.Context, before coach.Day, by string, at time.Time) ([]string, error) {
	return nil, errBuilding
}                                                                            // the tags of those forgotten
func (s *Store) Backup(ctx context.Context, file string) error               { return errBuilding }
func Restore(ctx context.Context, dir, file string) (kept string, err error) { return "", errBuilding } // where the old one is kept
