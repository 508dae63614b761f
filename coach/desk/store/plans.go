package store

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/dose"
)

// Prescription is one version of what a patient is to do: a day plan of one
// patient, in the text of a plan file. It does nothing until it is approved.
type Prescription struct {
	ID          int64
	Patient     int64
	Version     int64 // from 1 for each patient
	Text        string
	Fingerprint string // of the doses in Text
	Written     string // by whom
	WrittenAt   time.Time
	Approved    string // by whom; empty for a draft
	ApprovedAt  time.Time
	Withdrawn   bool // replaced by a later approved version, or taken back
	Seen        Seen // by who approved it
}

// Seen is what an approver was shown beside the text of a plan. Versions that
// were approved before this was kept have none of it.
type Seen struct {
	Warnings []string      `json:"warnings,omitempty"`
	Expected time.Duration `json:"expected_ns,omitempty"` // of a session; 0 where nobody could tell
	Protocol int64         `json:"protocol,omitempty"`    // version of the clinic's own; 0 for the built-in
	Edition  string        `json:"edition,omitempty"`     // that protocol's name and edition
	Print    string        `json:"print,omitempty"`       // its fingerprint
}

// Unknown reports whether a station has this plan and it was never sent from
// here: after a backup was put back, say. Nothing but its number is known.
func (p StationPlan) Unknown() bool { return p.Sent == "" }

// StationPlan is one version of the day plan that a station is to have.
type StationPlan struct {
	ID          int64
	Station     int64
	Version     int64     // from 1 for each station; the newest counts
	Day, Until  coach.Day // first and last; the same for a plan of one day
	Tags        []string  // whom it is for
	Text        string    // empty where the one before was taken back
	Fingerprint string
	Sent        string // by whom
	SentAt      time.Time
	DeliveredAt *time.Time // the station has it
	TakenAt     *time.Time // the station coaches by it
	Refused     string     // why the station refuses it; empty if it does not
}

// Answer is what a supervisor said to a proposal.
type Answer string

// The answers.
const (
	Accepted Answer = "accepted"
	Changed  Answer = "changed"
	Declined Answer = "declined"
)

// Decision is a named supervisor's answer to one proposal.
type Decision struct {
	ID       int64
	Patient  int64
	Exercise string
	Session  string // the newest session that the proposal looked at
	Proposal dose.Proposal
	Answer   Answer
	To       coach.Dose // what is to be done next
	Reason   string     // required to change or decline
	By       string
	At       time.Time
	Undone   bool
	Used     int64 // the prescription it went into; 0 for none yet
}

// Class is a class timetable of one day.
type Class struct {
	ID        int64
	Day       coach.Day
	Text      string // class/1, TOML
	Timetable string // JSON; empty until it is solved
	By        string
	At        time.Time
}

// Protocol is one version of the clinic's own protocol file.
type Protocol struct {
	Version int64 // from 1
	Text    string
	By      string
	At      time.Time
}
