package web

import "evenbell/coach/desk"

// clinicRoutes are the pages about the clinic itself.
func clinicRoutes() []route {
	return []route{
		{"GET /clinic", loggedIn, showClinic},
		{"GET /clinic/settings", desk.ManageClinic, showSettings},
		{"POST /clinic/settings", desk.ManageClinic, changeSettings},
		{"GET /clinic/staff", desk.ManageStaff, showStaff},
		{"POST /clinic/staff", desk.ManageStaff, addStaff},
		{"POST /clinic/staff/change", desk.ManageStaff, changeStaff},
		{"GET /clinic/protocol", loggedIn, showProtocol},
		{"GET /clinic/protocol/write", desk.WriteProtocol, showProtocolForm},
		{"POST /clinic/protocol/write", desk.WriteProtocol, writeProtocol},
		{"GET /clinic/protocol/{version}", loggedIn, showProtocolVersion},
		{"POST /clinic/protocol/{version}/sign", desk.SignProtocol, signProtocol},
		{"GET /clinic/exercises", desk.ManageClinic, showExercises},
		{"GET /clinic/exercises/{id}", desk.ManageClinic, showExercise},
		{"POST /clinic/exercises/{id}", desk.ManageClinic, changeExercise},
		{"GET /clinic/exercises/{id}/sound", desk.ManageClinic, playExercise},
		{"POST /clinic/exercises/{id}/remove", desk.ManageClinic, removeExercise},
		{"GET /clinic/audit", desk.SeeAudit, showAudit},
		{"GET /password", desk.ChangePassword, showPassword},
		{"POST /password", desk.ChangePassword, changePassword},
	}
}
