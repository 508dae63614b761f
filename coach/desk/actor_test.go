package desk_test

import (
	"context"
	"errors"
	"io"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// services is what each service asks of who calls it: one of these.
var services = map[string][]desk.Action{
	"Attention": {desk.SeeNow}, "Attentions": {desk.SeePatients}, "Shown": {desk.SeeNow}, "Now": {desk.SeeNow},
	"Acknowledge": {desk.Acknowledge}, "Going": {desk.Acknowledge}, "Close": {desk.ClosePlace},
	"Clear": {desk.ClearHold}, "TelephoneCode": {desk.ClearHold}, "ClearEvents": {desk.ClearHold}, "Release": {desk.ReleaseStation}, "HoldPatient": {desk.ClosePlace},
	"Audit": {desk.SeeAudit}, "Backup": {desk.ExportData}, "Restored": {desk.ImportData}, "Import": {desk.ImportData},
	"CarryPlan": {desk.LoadPlan, desk.SendPlanFile}, "SendFile": {desk.SendPlanFile},
	"CheckPlan": {desk.WritePlan}, "Choices": {desk.WritePlan}, "Draft": {desk.WritePlan}, "FromProgramme": {desk.WritePlan},
	"FromLast": {desk.WritePlan}, "NextPlan": {desk.WritePlan}, "Start": {desk.WritePlan}, "Withdraw": {desk.WritePlan},
	"Approve": {desk.ApprovePlan}, "Prescription": {desk.SeePatients}, "Load": {desk.LoadPlan}, "Empty": {desk.LoadPlan}, "StationPlan": {desk.SeePatients}, "Day": {desk.SeePatients},
	"Classes": {desk.RunClass}, "AddClass": {desk.RunClass}, "Class": {desk.RunClass}, "LoadClass": {desk.RunClass}, "Late": {desk.RunClass}, "Left": {desk.RunClass},
	"CheckSound": {desk.RunClass}, "SoundChecked": {desk.RunClass},
	"Decide": {desk.DecideProposal}, "AcceptHolds": {desk.DecideProposal}, "Undo": {desk.DecideProposal}, "Observed": {desk.NoteObservation},
	"Review": {desk.SeeReview}, "Session": {desk.SeeReview}, "Visit": {desk.SeeReview},
	"Patients": {desk.SeePatients}, "View": {desk.SeePatients}, "AddPatient": {desk.ChangePatients}, "ChangePatient": {desk.ChangePatients}, "KeepPatient": {desk.KeepData}, "ClockJumped": {desk.KeepData}, "DayIsRight": {desk.ManageClinic},
	"Screen": {desk.ScreenPatient}, "Screenings": {desk.SeePatients},
	"Staff": {desk.ManageStaff}, "AddStaff": {desk.ManageStaff}, "SetPassword": {desk.ManageStaff}, "SetRole": {desk.ManageStaff}, "SetDisabled": {desk.ManageStaff},
	"ChangePassword": {desk.ChangePassword},
	"Stations":       {desk.SeeNow, desk.ManageStations}, "Code": {desk.ManageStations}, "RenameStation": {desk.ManageStations}, "Revoke": {desk.ManageStations},
	"Exercises": {desk.WriteExercise}, "KeepExercise": {desk.WriteExercise}, "RemoveExercise": {desk.WriteExercise}, "SignExercise": {desk.SignExercise}, "Unsigned": {desk.WritePlan},
	"Record": {desk.WriteExercise}, "RemoveRecording": {desk.WriteExercise}, "Recording": {desk.WriteExercise}, "StrayRecordings": {desk.WriteExercise}, "Recorded": {desk.WriteExercise, desk.SeePatients},
	"ChangeClinic": {desk.ManageClinic}, "Protocols": {desk.SeePatients, desk.WriteProtocol}, "WriteProtocol": {desk.WriteProtocol}, "SignProtocol": {desk.SignProtocol},
}

var roles = []store.Role{store.Supervisor, store.Assistant, store.Admin, desk.Console, "", "cleaner"}

// call calls a service with nothing in its arguments but who calls.
func call(t *testing.T, d *desk.Desk, name string, who desk.Actor) error {
	m := reflect.ValueOf(d).MethodByName(name)
	require.True(t, m.IsValid(), name)
	args := []reflect.Value{reflect.ValueOf(ctx), reflect.ValueOf(who)}
	for i := 2; i < m.Type().NumIn(); i++ {
		in := m.Type().In(i)
		switch {
		case m.Type().IsVariadic() && i == m.Type().NumIn()-1:
		case in.Kind() == reflect.Func:
			args = append(args, reflect.MakeFunc(in, func([]reflect.Value) []reflect.Value {
				return []reflect.Value{reflect.ValueOf(errors.New("nothing")).Convert(reflect.TypeFor[error]())}
			}))
		case in == reflect.TypeFor[io.Writer]():
			args = append(args, reflect.ValueOf(io.Discard))
		case in == reflect.TypeFor[*link.Bundle]():
			b := &link.Bundle{}
			args = append(args, reflect.ValueOf(b))
		default:
			args = append(args, reflect.Zero(in))
		}
	}
	out := m.Call(args)
	err, _ := out[len(out)-1].Interface().(error)
	return err
}

// Every service that somebody calls refuses whom the table does not name, and
// nobody else. A service that is not in the test's table fails it.
func TestEveryServiceForEveryRole(t *testing.T) {
	d := reflect.TypeFor[*desk.Desk]()
	var found []string
	for i := range d.NumMethod() {
		m := d.Method(i)
		if m.Type.NumIn() > 2 && m.Type.In(1) == reflect.TypeFor[context.Context]() && m.Type.In(2) == reflect.TypeFor[desk.Actor]() {
			found = append(found, m.Name)
		}
	}
	require.Greater(t, len(found), 50)
	for _, name := range found {
		actions := services[name]
		if !assert.NotEmpty(t, actions, "%s is not in the table of services", name) {
			continue
		}
		c := newClinic(t)
		for _, role := range roles {
			who := desk.Actor{ID: 9, Name: "somebody", Role: role}
			may := slices.ContainsFunc(actions, who.May)
			err := call(t, c.Desk, name, who)
			assert.Equal(t, !may, errors.Is(err, desk.ErrDenied), "%s as %q: %v", name, role, err)
		}
		assert.ErrorIs(t, call(t, c.Desk, name, desk.Actor{Role: store.Supervisor}), desk.ErrDenied, "%s as nobody by name", name)
	}
	for name := range services {
		assert.Contains(t, found, name, "no such service")
	}
}

// The command line sets up and carries; it can't do what takes a clinician.
func TestWhoMayWhat(t *testing.T) {
	for _, a := range []desk.Action{desk.ApprovePlan, desk.DecideProposal, desk.ClearHold, desk.SignProtocol} {
		for _, role := range roles {
			assert.Equal(t, role == store.Supervisor, desk.May(role, a), "%s: %s", role, a)
		}
	}
	assert.False(t, desk.May(store.Supervisor, "something nobody thought of"))
	assert.False(t, desk.May(store.Admin, desk.SeePatients), "an admin has no need to see patients")
}
