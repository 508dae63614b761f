package desk

import (
	"context"
	"errors"
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/review"
)

// This file says what is being built; it empties as the bodies come.
var errBuilding = errors.New("being built")

type board struct{}
type broadcast struct{}

func newBoard() *board         { return &board{} }
func newBroadcast() *broadcast { return &broadcast{} }

// ---- login ---------------------------------------------------------------

// ---- staff (ManageStaff) --------------------------------------------------

// ---- patients -------------------------------------------------------------

// ---- screening ------------------------------------------------------------

// ---- plans ----------------------------------------------------------------

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

func (d *Desk) stationChanged(id int64) {}

func (b *board) exercising() []string                                              { return nil }
func (b *broadcast) tell(e Event)                                                  {}
func (d *Desk) openHoldsOf(ctx context.Context, tag string) ([]store.Hold, error)  { return nil, nil }
func (d *Desk) needs(ctx context.Context, f store.AttentionFilter) ([]Need, error) { return nil, nil }
