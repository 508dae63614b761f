package desk

import (
	"context"
	"errors"
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/link"
	"evenbell/coach/review"
)

// This file says what is being built; it empties as the bodies come.
var errBuilding = errors.New("being built")

// ---- login ---------------------------------------------------------------

// ---- staff (ManageStaff) --------------------------------------------------

// ---- patients -------------------------------------------------------------

// ---- screening ------------------------------------------------------------

// ---- plans ----------------------------------------------------------------

// ---- who needs me now -----------------------------------------------------

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

func (d *Desk) nextPlaces(ctx context.Context, st store.Station) ([]link.Next, error) {
	return nil, nil
}
