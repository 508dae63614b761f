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
		{"GET /clinic/exercises", desk.WriteExercise, showExercises},
		{"GET /clinic/exercises/{id}", desk.WriteExercise, showExercise},
		{"POST /clinic/exercises/{id}", desk.WriteExercise, changeExercise},
		{"GET /clinic/exercises/{id}/sound", desk.WriteExercise, playExercise},
		{"POST /clinic/exercises/{id}/remove", desk.WriteExercise, removeExercise},
		{"POST /clinic/exercises/{id}/sign", desk.SignExercise, signExercise},
		{"POST /clinic/exercises/{id}/record/{line}", desk.WriteExercise, recordLine},
		{"GET /clinic/recordings/{hash}", desk.WriteExercise, playRecording},
		{"POST /clinic/recordings/{hash}/remove", desk.WriteExercise, removeRecording},
		{"GET /clinic/audit", desk.SeeAudit, showAudit},
		{"GET /password", desk.ChangePassword, showPassword},
		{"POST /password", desk.ChangePassword, changePassword},
	}
}
