package desk

import (
	"context"
	"errors"
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
	"evenbell/coach/screening"
)

// This file says what is being built; it empties as the bodies come.
var errBuilding = errors.New("being built")

type tries struct{}
type board struct{}
type broadcast struct{}

func newTries() *tries         { return &tries{} }
func newBoard() *board         { return &board{} }
func newBroadcast() *broadcast { return &broadcast{} }

// ---- login ---------------------------------------------------------------

// LogIn gives the secret for the cookie of a browser, after the right name and
// password. address is where the browser is, for counting wrong tries:
// ErrWrongLogin, or TooManyTries.
func (d *Desk) LogIn(ctx context.Context, name, password, address string) (secret string, who Actor, err error) {
	return "", Actor{}, errBuilding
}

// LoggedIn is who a cookie's secret belongs to; ErrNotLoggedIn where it is
// nobody's, has been idle for half an hour, or is twelve hours old.
func (d *Desk) LoggedIn(ctx context.Context, secret string) (Actor, error) {
	return Actor{}, errBuilding
}

// LogOut ends a browser's login.
func (d *Desk) LogOut(ctx context.Context, secret string) error { return errBuilding }

// ChangePassword changes the actor's own, who must know the old one; all their
// logins end.
func (d *Desk) ChangePassword(ctx context.Context, who Actor, old, new string) error {
	return errBuilding
}

// ---- staff (ManageStaff) --------------------------------------------------

func (d *Desk) Staff(ctx context.Context, who Actor) ([]store.Staff, error) { return nil, errBuilding } // without passwords
func (d *Desk) AddStaff(ctx context.Context, who Actor, name string, role store.Role, password string) (store.Staff, error) {
	return store.Staff{}, errBuilding
}
func (d *Desk) SetPassword(ctx context.Context, who Actor, name, password string) error {
	return errBuilding
} // all logins of that name end
func (d *Desk) SetRole(ctx context.Context, who Actor, name string, role store.Role) error {
	return errBuilding
}
func (d *Desk) SetDisabled(ctx context.Context, who Actor, name string, disabled bool) error {
	return errBuilding
} // the last admin stays

// ---- patients -------------------------------------------------------------

// Patients lists patients (SeePatients): current ones only, or all; text is
// searched for in name and tag.
func (d *Desk) Patients(ctx context.Context, who Actor, current bool, text string) ([]store.Patient, error) {
	return nil, errBuilding
}

// View is everything about one patient but what was done; the look is audited.
func (d *Desk) View(ctx context.Context, who Actor, tag string) (*Person, error) {
	return nil, errBuilding
}

// FreeTag suggests a tag nobody has.
func (d *Desk) FreeTag(ctx context.Context) (string, error) { return "", errBuilding }

// AddPatient adds a person; an empty tag gets a free one. Refusal on a tag or
// record that cannot be.
func (d *Desk) AddPatient(ctx context.Context, who Actor, p store.Patient) (store.Patient, error) {
	return p, errBuilding
}

// ChangePatient changes a record, name or last day. was is the Version the form
// was made from; ErrChanged where somebody was quicker. change must not change
// the tag.
func (d *Desk) ChangePatient(ctx context.Context, who Actor, tag string, was int64, change func(*store.Patient) error) (store.Patient, error) {
	return store.Patient{}, errBuilding
}

// KeepPatient sets or lifts legal hold (KeepData).
func (d *Desk) KeepPatient(ctx context.Context, who Actor, tag string, keep bool) error {
	return errBuilding
}

// ---- screening ------------------------------------------------------------

// Screen judges today's readings and keeps them (ScreenPatient). Refusal where
// a reading cannot be.
func (d *Desk) Screen(ctx context.Context, who Actor, tag string, today screening.Today) (store.Screening, error) {
	return store.Screening{}, errBuilding
}

// Screenings are a patient's, newest first.
func (d *Desk) Screenings(ctx context.Context, who Actor, tag string) ([]store.Screening, error) {
	return nil, errBuilding
}

// ---- plans ----------------------------------------------------------------

// CheckPlan looks at the text of a plan for one patient, by the clinic's protocol and
// exercises. A plan for another tag, or for several, is a fault.
func (d *Desk) CheckPlan(ctx context.Context, who Actor, tag, text string) (*Checked, error) {
	return nil, errBuilding
}

// Draft keeps the text as the patient's newest version, faults and all; only
// one without can be approved.
func (d *Desk) Draft(ctx context.Context, who Actor, tag, text string) (store.Prescription, *Checked, error) {
	return store.Prescription{}, nil, errBuilding
}

// Approve approves a draft by the actor's name. seen is the fingerprint the
// approver looked at; ErrChanged where the draft is another. Faulty with any fault.
func (d *Desk) Approve(ctx context.Context, who Actor, id int64, seen string) (store.Prescription, error) {
	return store.Prescription{}, errBuilding
}

// Withdraw takes an approved prescription back, or throws a draft away. What a
// station already has stays there until another plan is loaded.
func (d *Desk) Withdraw(ctx context.Context, who Actor, id int64) error { return errBuilding }

// Prescription is one version, looked at.
func (d *Desk) Prescription(ctx context.Context, who Actor, id int64) (store.Prescription, *Checked, error) {
	return store.Prescription{}, nil, errBuilding
}

// FromProgramme begins a plan from a built-in programme: what a precaution bars
// is replaced or left out, and the notes say so. Loads are the nearest owned
// that are not heavier.
func (d *Desk) FromProgramme(ctx context.Context, who Actor, tag, programme string) (*Suggestion, error) {
	return nil, errBuilding
}

// FromLast begins a plan from the newest prescription, for today: what a
// precaution bars by now is replaced or left out.
func (d *Desk) FromLast(ctx context.Context, who Actor, tag string) (*Suggestion, error) {
	return nil, errBuilding
}

// Choices are what a patient may do in place of an exercise: the exercise
// itself and its advice first, then the others that work the same muscle.
func (d *Desk) Choices(ctx context.Context, who Actor, tag, exercise string) ([]Choice, error) {
	return nil, errBuilding
}

// Load composes the station's day plan of the approved prescriptions of the
// tags, in that order, and sends it. It is refused where one of them has none
// in force on the day, is held, was screened "not today", or a dose would differ
// from what was approved.
func (d *Desk) Load(ctx context.Context, who Actor, station string, day coach.Day, tags ...string) (store.StationPlan, error) {
	return store.StationPlan{}, errBuilding
}

// SendFile sends a plan file that a named person approved in it (contract:
// desk plan send). Faulty with faults; the warnings and notes (held tags, tags
// that were unknown until now) come back.
func (d *Desk) SendFile(ctx context.Context, who Actor, station, file string, text []byte) (store.StationPlan, []coach.Fault, error) {
	return store.StationPlan{}, nil, errBuilding
}

// Day is who comes on a day, to which station, with plans how far (SeePatients).
func (d *Desk) Day(ctx context.Context, who Actor, day coach.Day) (*Day, error) {
	return nil, errBuilding
}

// StationPlan is one version of a station's day plan with its text, for
// printing (SeePatients).
func (d *Desk) StationPlan(ctx context.Context, who Actor, id int64) (store.StationPlan, error) {
	return store.StationPlan{}, errBuilding
}

// ---- who needs me now -----------------------------------------------------

// Now is who needs somebody and what goes on at the stations (SeeNow). Names of
// patients are not in it.
func (d *Desk) Now(ctx context.Context, who Actor) (*Now, error) { return nil, errBuilding }

// Watch tells of every change until ctx is done; then the channel is closed.
func (d *Desk) Watch(ctx context.Context) <-chan Event { return nil }

// Shown notes that an attention is on somebody's page; the first time counts.
func (d *Desk) Shown(ctx context.Context, who Actor, id int64) error { return errBuilding }

// Acknowledge silences an attention's alarm, by name.
func (d *Desk) Acknowledge(ctx context.Context, who Actor, id int64) (store.Attention, error) {
	return store.Attention{}, errBuilding
}

// Going says that the actor is on the way; only then does the station say that
// help is coming. It acknowledges too.
func (d *Desk) Going(ctx context.Context, who Actor, id int64) (store.Attention, error) {
	return store.Attention{}, errBuilding
}

// Close ends an attention with what was done and how it ended, both required
// for a stop, a "not well" or a symptom.
func (d *Desk) Close(ctx context.Context, who Actor, id int64, done, ended string) (store.Attention, error) {
	return store.Attention{}, errBuilding
}

// Attention is one, with what belongs to it.
func (d *Desk) Attention(ctx context.Context, who Actor, id int64) (*Need, error) {
	return nil, errBuilding
}

// Attentions are a patient's, or all where tag is empty, newest first.
func (d *Desk) Attentions(ctx context.Context, who Actor, tag string) ([]Need, error) {
	return nil, errBuilding
}

// Clear takes a hold away (ClearHold), with a note.
func (d *Desk) Clear(ctx context.Context, who Actor, hold int64, note string) (store.Hold, error) {
	return store.Hold{}, errBuilding
}

// TelephoneCode clears a hold and gives the single-use presses that tell a
// station without network so, to be read out over the telephone.
func (d *Desk) TelephoneCode(ctx context.Context, who Actor, hold int64, station, note string) ([]coach.Button, error) {
	return nil, errBuilding
}

// Release frees a station that a stop has locked. The tag stays held.
func (d *Desk) Release(ctx context.Context, who Actor, station string) error { return errBuilding }

// ---- review ---------------------------------------------------------------

// Review is what a patient did from day to day (SeeReview, audited). Empty days
// are the last twelve weeks.
func (d *Desk) Review(ctx context.Context, who Actor, tag string, from, to coach.Day) (*Reviewed, error) {
	return nil, errBuilding
}

// Session is the log of one session, and what belongs to it, for its page.
func (d *Desk) Session(ctx context.Context, who Actor, id string) (*SessionView, error) {
	return nil, errBuilding
}

// Decide answers the standing proposal for one exercise. seen is
// Pending.Told: ErrChanged where a newer session came in. to is what is to be
// done instead, with Changed alone; a reason is required to change or decline.
// A change is checked against the protocol and the precautions.
func (d *Desk) Decide(ctx context.Context, who Actor, tag, exercise, seen string, answer store.Answer, to coach.Dose, reason string) (store.Decision, error) {
	return store.Decision{}, errBuilding
}

// AcceptHolds accepts every standing proposal that changes nothing, at once.
func (d *Desk) AcceptHolds(ctx context.Context, who Actor, tag string) ([]store.Decision, error) {
	return nil, errBuilding
}

// Undo takes a decision back, until it has gone into an approved plan.
func (d *Desk) Undo(ctx context.Context, who Actor, decision int64) error { return errBuilding }

// Observed notes that staff watched a session of an exercise and its effort.
func (d *Desk) Observed(ctx context.Context, who Actor, tag, exercise, session string) error {
	return errBuilding
}

// NextPlan drafts the next prescription: the newest one with the decided doses,
// what was last done filled in, and fewer words where an exercise was done
// three times.
func (d *Desk) NextPlan(ctx context.Context, who Actor, tag string) (store.Prescription, *Checked, error) {
	return store.Prescription{}, nil, errBuilding
}

// Start is a load to begin an exercise with, after a trial set.
func (d *Desk) Start(ctx context.Context, who Actor, exercise string, trial coach.Load, reps, reserve int) (dose.Start, error) {
	return dose.Start{}, errBuilding
}

// ---- classes (RunClass) ---------------------------------------------------

// Classes are those of a day.
func (d *Desk) Classes(ctx context.Context, who Actor, day coach.Day) ([]store.Class, error) {
	return nil, errBuilding
}

// AddClass reads a class (class/1, its plan made of the prescriptions in force
// of the tags it names), solves it within the budget and keeps it.
func (d *Desk) AddClass(ctx context.Context, who Actor, day coach.Day, text string, budget time.Duration) (store.Class, error) {
	return store.Class{}, errBuilding
}

// Class is a class with its timetable and how far it is.
func (d *Desk) Class(ctx context.Context, who Actor, id int64) (*ClassView, error) {
	return nil, errBuilding
}

// LoadClass sends every station of a class its plan.
func (d *Desk) LoadClass(ctx context.Context, who Actor, id int64) ([]store.StationPlan, error) {
	return nil, errBuilding
}

// Late and Left repair the rest of a running class without moving anyone at
// work: somebody comes so much later, or goes home.
func (d *Desk) Late(ctx context.Context, who Actor, class int64, tag string, by time.Duration) error {
	return errBuilding
}
func (d *Desk) Left(ctx context.Context, who Actor, class int64, tag string) error {
	return errBuilding
}

// ---- stations (ManageStations) and the clinic -------------------------------

// Stations are all of them, revoked ones last (SeeNow).
func (d *Desk) Stations(ctx context.Context, who Actor) ([]store.Station, error) {
	return nil, errBuilding
}

// Code makes a one-time enrolment code for the station of that name, which it
// adds if there is none, and gives it with the desk's key fingerprint.
func (d *Desk) Code(ctx context.Context, who Actor, name string) (code, fingerprint string, expires time.Time, err error) {
	return "", "", time.Time{}, errBuilding
}

// RenameStation changes name and place, as spoken.
func (d *Desk) RenameStation(ctx context.Context, who Actor, name, newName, place string) error {
	return errBuilding
}

// Revoke lets a station in no more.
func (d *Desk) Revoke(ctx context.Context, who Actor, name string) error { return errBuilding }

// Clinic is the clinic's settings, with defaults filled in.
func (d *Desk) Clinic(ctx context.Context) (Clinic, error) { return Clinic{}, errBuilding }

// ChangeClinic changes settings (ManageClinic); Refusal on what cannot be.
func (d *Desk) ChangeClinic(ctx context.Context, who Actor, change func(*Clinic) error) (Clinic, error) {
	return Clinic{}, errBuilding
}

// Zone is the clinic's time zone.
func (d *Desk) Zone(ctx context.Context) (*time.Location, error) { return time.UTC, errBuilding }

// Protocol is the protocol in force: the newest version that was signed, or
// the built-in one.
func (d *Desk) Protocol(ctx context.Context) (*protocol.Protocol, error) { return nil, errBuilding }

// Protocols are the versions written, newest first.
func (d *Desk) Protocols(ctx context.Context, who Actor) ([]ProtocolVersion, error) {
	return nil, errBuilding
}

// WriteProtocol keeps a new version (WriteProtocol); Faulty where it has
// faults. It holds once a supervisor has signed it.
func (d *Desk) WriteProtocol(ctx context.Context, who Actor, text string) (ProtocolVersion, error) {
	return ProtocolVersion{}, errBuilding
}

// SignProtocol puts a version in force by the actor's name (SignProtocol).
func (d *Desk) SignProtocol(ctx context.Context, who Actor, version int64) error { return errBuilding }

// Retain deletes what is older than the clinic keeps, but for legal holds; it
// gives the tags of who was forgotten. Run calls it daily.
func (d *Desk) Retain(ctx context.Context) ([]string, error) { return nil, errBuilding }

// Audit is the audit trail (SeeAudit), oldest first.
func (d *Desk) Audit(ctx context.Context, who Actor, f store.AuditFilter) ([]store.AuditLine, error) {
	return nil, errBuilding
}

// Run does what goes on without anybody calling: lost stations, changes by
// other processes, retention. It ends with ctx.
func (d *Desk) Run(ctx context.Context) error { return errBuilding }

// ---- views ----------------------------------------------------------------

// Clinic is what the clinic says of itself: its settings.
type Clinic struct {
	Name      string
	Zone      string // of the IANA names, such as "Europe/London"; empty for the system's
	Unit      coach.Unit
	Voice     string // voice pack
	Owned     string // loads, as dose.ParseOwned reads them
	Telephone string
	Emergency string // what to do in an emergency here
	Retention int    // days that entries are kept; 0 for ever
	Exercises []coach.OwnExercise
}

// ProtocolVersion is one version of the clinic's protocol, read.
type ProtocolVersion struct {
	store.Protocol
	Read        *protocol.Protocol
	Differences []protocol.Difference
	Signed      string // by whom; empty while it does nothing
	SignedAt    time.Time
	InForce     bool
}

// Checked is a plan's text, looked at.
type Checked struct {
	Plan        *plan.Plan    // nil with any fault that is not a warning
	Faults      []coach.Fault // warnings included, in order of line
	Fingerprint string        // what an approver has looked at; empty with faults
	Length      time.Duration // of the session with a patient who answers at once; 0 where unknown
}

// Person is everything about one patient that a page shows, but for what was
// done; see Reviewed.
type Person struct {
	store.Patient
	Precautions   []coach.Precaution // in force today, those that follow from what was done to them included
	Holds         []store.Hold       // not cleared
	Attentions    []Need             // newest first
	Prescriptions []store.Prescription
	InForce       *store.Prescription // approved and for today
	Screening     *store.Screening    // today's
	Stations      []string            // whose plan for today has them
}

// PlanState is how far a patient's plan for a day has come.
type PlanState string

// The states of a plan.
const (
	NoPlan    PlanState = "no plan"
	Draft     PlanState = "draft"
	Approved  PlanState = "approved"
	Loaded    PlanState = "loaded"         // sent, and the station does not have it yet
	OnStation PlanState = "on the station" // the station has it
	Doing     PlanState = "exercising"
	Done      PlanState = "done"
)

// Comer is one patient on a day.
type Comer struct {
	Tag, Name    string
	State        PlanState
	Prescription *store.Prescription // the newest approved one for the day, else the newest draft
	Stations     []string            // whose plans for the day have them
	Refused      string              // why the station refuses its plan; empty if it does not
	Verdict      protocol.Verdict    // of the day's screening; empty where there was none
	Held         bool
	Outcome      coach.Outcome // of the day's session, once it ended
}

// Day is a clinic's day.
type Day struct {
	Day      coach.Day
	Comers   []Comer         // current patients, by name
	Stations []store.Station // enrolled, by name
	Classes  []store.Class
}

// Suggestion is a plan to begin from, with what was changed and why.
type Suggestion struct {
	Text  string   // of a plan file
	Notes []string // in plain words, in the order of the items
}

// Choice is one exercise a patient may be given in place of another.
type Choice struct {
	Exercise coach.Exercise
	Stage    coach.Stage
	Sides    coach.Sides
	Barred   *coach.Precaution // the precaution it goes against; nil for none
	Advised  bool              // what the catalogue advises under these precautions
}

// Pending is a proposal with the answer it got, if any.
type Pending struct {
	Proposal dose.Proposal
	Decision *store.Decision // nil while nobody decided
	Told     string          // the newest session the proposal looked at
}

// Reviewed is what one patient did, ready to look at.
type Reviewed struct {
	Tag       string
	From, To  coach.Day
	Log       *review.Log // of the days
	Findings  []review.Finding
	Weeks     []review.Week
	Proposals []Pending // one for each exercise of the newest prescription that was done, in its order
	Trends    map[string][]review.Point
	Since     []string // how the newest approved prescription differs from the one before, in plain words
}

// SessionView is one session with what belongs to it.
type SessionView struct {
	store.Session
	StationName string
	Review      *review.Session
	Entries     []store.Entry
	Attentions  []Need
	Plan        *store.StationPlan
	Breaks      []store.Break
}

// Need is one attention with what belongs to it.
type Need struct {
	store.Attention
	StationName string
	Call        string // the call word of the tag, if it has one
	Held        bool   // the tag is held
	Loud        bool   // the page sounds until it is acknowledged
}

// StationNow is one station at this moment.
type StationNow struct {
	store.Station
	Online  bool
	Silent  *time.Time // since when it is not heard; nil while it is
	Alarm   bool       // silent for a minute while somebody exercises there
	Tag     string     // who exercises; empty for nobody
	Session string
	Began   time.Time // of the session
	Place   Place
	Waiting *time.Time // nobody has answered since
	Locked  bool       // stopped, until it is released
	Unsent  int64      // entries still on the station
	Version string
	Clock   string // in plain words: "right", "off by 3 s", "not set"
	Volume  int    // dB
	Voice   string
	Test    string             // what its self-test found, in plain words; empty for nothing wrong
	Plan    *store.StationPlan // newest sent
}

// Place is where in a session somebody is.
type Place struct {
	Phase    string // questions, warm-up, set, rest, effort, paused, cool-down, stopped
	Exercise string
	Item, Of int // from 1; 0 outside an item
	Set, Rep int
}

// Now is who needs somebody, and what goes on.
type Now struct {
	At       time.Time
	Needs    []Need       // not closed; stops and lost stations first, then the oldest
	Stations []StationNow // enrolled and not revoked, by name
	AllLost  *time.Time   // no station can be heard since; nil otherwise
	Holds    []store.Hold // not cleared
}

// ClassView is a class with its timetable and how far it is.
type ClassView struct {
	store.Class
	Problem   *circuit.Problem
	Timetable *circuit.Timetable
	Begins    time.Time
	Now       int      // seconds since the beginning; negative before it
	Places    []string // the stations' names, then the areas
	Notes     []string // repairs made, in plain words
}

// EventKind says what changed.
type EventKind string

// The kinds of event.
const (
	AttentionEvent EventKind = "attention" // raised, or a step further
	StationEvent   EventKind = "station"   // its live state
	PlanEvent      EventKind = "plan"      // sent, delivered, taken, refused
	HoldEvent      EventKind = "hold"
	ChangeEvent    EventKind = "change" // anything else in the store: people, prescriptions, settings, classes
)

// Event says that something changed: look again. A reader that is slow misses
// none, but gets the newest of each kind and id only.
type Event struct {
	Kind    EventKind
	ID      int64  // of the attention, hold or plan; of the station for StationEvent
	Station string // its name, where it is about one
	Reason  store.Reason
	Loud    bool // somebody must come: the page sounds until it is acknowledged
	At      time.Time
}
