package web

import "evenbell/coach/desk"

// recordRoutes are the pages of what was done, to read, print and carry out.
func recordRoutes() []route {
	return []route{
		{"GET /patients/{tag}/sessions", desk.SeeReview, showSessions},
		{"GET /patients/{tag}/papers", desk.SeePatients, showPapers},
		{"GET /patients/{tag}/fhir", desk.ExportRecord, sendFHIR},
		{"GET /visits/{id}", desk.SeeReview, showVisit},
		{"GET /visits/{id}/pdf", desk.SeeReview, sendVisitPDF},
		{"GET /sessions/{id}", desk.SeeReview, showSession},
		{"GET /sessions/{id}/picture", desk.SeeReview, sendPicture},
		{"GET /sessions/{id}/pdf", desk.SeeReview, sendSessionPDF},
		{"GET /sessions/{id}/incident", desk.ExportData, showIncident},
		{"GET /sessions/{id}/incident/{form}", desk.ExportData, sendIncident},
		{"GET /plans/{id}/pdf", desk.SeePatients, sendPlanPDF},
		{"GET /records", desk.KeepData, showRecords},
		{"GET /records/{what}", desk.ExportData, sendTable},
		{"POST /records/keep", desk.KeepData, keepPatient},
		{"POST /records/day", desk.ManageClinic, confirmDay},
	}
}
