package web

import "evenbell/coach/desk"

// can says which of the actions the person asking may do, for templates.
func (v *visit) can(actions ...desk.Action) map[string]bool {
	out := map[string]bool{}
	for _, a := range actions {
		out[string(a)] = v.who.May(a)
	}
	return out
}

// patientRoutes are the pages about one patient.
func patientRoutes() []route {
	return []route{
		{"GET /patients", desk.SeePatients, showPatients},
		{"GET /patients/new", desk.ChangePatients, newPatient},
		{"POST /patients/new", desk.ChangePatients, addPatient},
		{"GET /patients/{tag}", desk.SeePatients, showPatient},
		{"GET /patients/{tag}/record", desk.ChangePatients, showRecord},
		{"POST /patients/{tag}/record", desk.ChangePatients, changeRecord},
		{"GET /patients/{tag}/home", desk.ChangePatients, showHome},
		{"POST /patients/{tag}/home", desk.ChangePatients, changeHome},
		{"GET /patients/{tag}/hold", desk.ClosePlace, showHoldForm},
		{"POST /patients/{tag}/hold", desk.ClosePlace, holdPatient},
		{"GET /patients/{tag}/screening", desk.ScreenPatient, showScreening},
		{"POST /patients/{tag}/screening", desk.ScreenPatient, screen},
		{"GET /patients/{tag}/progress", desk.SeeReview, showProgress},
		{"GET /patients/{tag}/views", desk.SeeAudit, showViews},
	}
}
