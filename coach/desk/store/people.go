package store

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/screening"
)

// Role says what a member of staff may do.
type Role string

// The roles.
const (
	Supervisor Role = "supervisor" // approves plans and proposals, clears stops
	Assistant  Role = "assistant"  // runs the day
	Admin      Role = "admin"      // manages staff, stations and the protocol
)

// Staff is one member of staff.
type Staff struct {
	ID       int64
	Name     string // by which they log in and approve; unique
	Role     Role
	Password string // argon2id, encoded with its parameters and salt
	Disabled bool
	Created  time.Time
}

// Login is one browser that somebody logged in on.
type Login struct {
	Hash          string // SHA-256 of the cookie's secret, hexadecimal
	Staff         int64
	Created, Seen time.Time
}

// Patient is a person, by name. Names live only here; stations know the tag.
type Patient struct {
	ID     int64
	Tag    string // unique, as in a plan
	Name   string // empty for a tag that came with a plan before anybody named it
	Record Record
	Left   coach.Day // the last day of the programme; empty while it goes on
	Kept   bool      // legal hold: nothing of this patient is ever deleted
	// Forgotten is when the name and everything recorded were deleted.
	Forgotten *time.Time
	Version   int64 // counts the changes; UpdatePatient refuses one made to an older
}

// Record is what is known of a patient, stored as JSON.
type Record struct {
	Born        coach.Day          `json:"born,omitempty"`
	Call        string             `json:"call,omitempty"` // call word
	Guide       coach.Guide        `json:"guide,omitempty"`
	Notes       string             `json:"notes,omitempty"`
	Events      []PastEvent        `json:"events,omitempty"`
	Precautions []coach.Precaution `json:"precautions,omitempty"`
	Screening   screening.Patient  `json:"screening"`
	Ceiling     dose.Ceiling       `json:"ceiling"`
	Wanted      int                `json:"wanted,omitempty"` // sessions a week
	Home        *Home              `json:"home,omitempty"`
	Admissions  []coach.Day        `json:"admissions,omitempty"` // in hospital since; a clearing after it says screened again
	// Cleared are a supervisor's words that what happened before needs no more
	// waiting, beside the clearing of holds.
	Cleared  []dose.Clearance `json:"cleared,omitempty"`
	Observed []Observation    `json:"observed,omitempty"`
}

// Observation says that somebody watched an exercise in a session, and its
// effort.
type Observation struct {
	Exercise string    `json:"exercise"`
	Session  string    `json:"session"`
	By       string    `json:"by"`
	At       time.Time `json:"at"`
}

// PastEvent is something in a patient's history.
type PastEvent struct {
	Day  coach.Day `json:"day"`
	What string    `json:"what"`
}

// Home is what matters for somebody who exercises at home.
type Home struct {
	Station     int64    `json:"station,omitempty"` // the one that stands there; 0 while there is none
	Emergency   string   `json:"emergency"`         // what to do there in an emergency
	Telephone   string   `json:"telephone"`         // of the clinic
	Alone       bool     `json:"alone"`
	Equipment   []string `json:"equipment"`    // loads there, as in a plan
	DaysBetween int      `json:"days_between"` // at least, between sessions
}

// LivesWith reports whether a station stands in the patient's home.
func (p Patient) LivesWith(station int64) bool {
	return p.Record.Home != nil && p.Record.Home.Station == station
}

// Screening is one day's screening.
type Screening struct {
	ID      int64
	Patient int64
	Day     coach.Day
	Today   screening.Today
	Result  screening.Result
	By      string
	At      time.Time
}
