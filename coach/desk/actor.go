package desk

import (
	"fmt"
	"slices"

	"evenbell/coach/desk/store"
)

// Actor is who does something: a member of staff that is logged in, or the
// person at the desk's own command line.
type Actor struct {
	ID   int64 // of the member of staff; 0 at the command line
	Name string
	Role store.Role
}

// Console is the role of who works at the command line of the desk's own
// machine. It sets up staff and stations and carries data; it approves nothing.
const Console store.Role = "console"

// AtConsole is the person at the command line, by the name the system knows.
func AtConsole(name string) Actor { return Actor{Name: "command line, " + name, Role: Console} }

// Action is something a person may or may not do.
type Action string

// The actions.
const (
	SeeNow          Action = "see who needs somebody"
	SeePatients     Action = "see patients"
	ChangePatients  Action = "change a patient's record"
	ScreenPatient   Action = "enter a screening"
	WritePlan       Action = "write a plan"
	ApprovePlan     Action = "approve a plan"
	LoadPlan        Action = "load an approved plan onto a station"
	SendPlanFile    Action = "send a plan file to a station"
	SeeReview       Action = "see what was done"
	DecideProposal  Action = "decide on a proposal"
	NoteObservation Action = "note that somebody watched"
	Acknowledge     Action = "acknowledge and go"
	ClosePlace      Action = "say what was done and how it ended"
	ClearHold       Action = "clear a hold"
	ReleaseStation  Action = "free a station"
	RunClass        Action = "run a class"
	ManageStaff     Action = "manage staff"
	ManageStations  Action = "manage stations"
	ManageClinic    Action = "manage the clinic's settings"
	WriteProtocol   Action = "write the protocol"
	SignProtocol    Action = "sign the protocol"
	WriteExercise   Action = "write and record exercises of the clinic's own"
	SignExercise    Action = "sign exercises of the clinic's own"
	ExportData      Action = "export data"
	ExportRecord    Action = "export a patient's record"
	KeepData        Action = "put data on legal hold"
	ImportData      Action = "import data"
	SeeAudit        Action = "see the audit trail"
	ChangePassword  Action = "change one's own password"
)

// may is the one table of who may do what. A role that is not named may not.
var may = map[Action][]store.Role{
	SeeNow:          {store.Supervisor, store.Assistant, store.Admin},
	SeePatients:     {store.Supervisor, store.Assistant},
	ChangePatients:  {store.Supervisor},
	ScreenPatient:   {store.Supervisor, store.Assistant},
	WritePlan:       {store.Supervisor, store.Assistant},
	ApprovePlan:     {store.Supervisor},
	LoadPlan:        {store.Supervisor, store.Assistant},
	SendPlanFile:    {store.Supervisor, Console},
	SeeReview:       {store.Supervisor, store.Assistant},
	DecideProposal:  {store.Supervisor},
	NoteObservation: {store.Supervisor, store.Assistant},
	Acknowledge:     {store.Supervisor, store.Assistant, store.Admin},
	ClosePlace:      {store.Supervisor, store.Assistant},
	ClearHold:       {store.Supervisor},
	ReleaseStation:  {store.Supervisor, store.Assistant},
	RunClass:        {store.Supervisor, store.Assistant},
	ManageStaff:     {store.Admin, Console},
	ManageStations:  {store.Admin, Console},
	ManageClinic:    {store.Admin},
	WriteProtocol:   {store.Admin},
	SignProtocol:    {store.Supervisor},
	WriteExercise:   {store.Supervisor, store.Assistant, store.Admin},
	SignExercise:    {store.Supervisor},
	ExportData:      {store.Supervisor, store.Admin, Console},
	ExportRecord:    {store.Supervisor, Console},
	KeepData:        {store.Supervisor, store.Admin},
	ImportData:      {store.Admin, Console},
	SeeAudit:        {store.Admin, store.Supervisor, Console},
	ChangePassword:  {store.Supervisor, store.Assistant, store.Admin},
}

// May reports whether a role may do something.
func May(r store.Role, a Action) bool { return slices.Contains(may[a], r) }

// May reports whether the actor may do something.
func (a Actor) May(what Action) bool { return a.Name != "" && May(a.Role, what) }

// check refuses what the actor may not do.
func (a Actor) check(what Action) error {
	if !a.May(what) {
		return fmt.Errorf("%w: %s", ErrDenied, what)
	}
	return nil
}
