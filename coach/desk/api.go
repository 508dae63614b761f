package desk

import (
	"context"
	"errors"
	"time"

	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
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
