package web

import "evenbell/coach/desk"

// planRoutes are the pages of what patients are to do.
func planRoutes() []route {
	return []route{
		{"GET /patients/{tag}/plan", desk.WritePlan, beginPlan},
		{"GET /patients/{tag}/plan/write", desk.WritePlan, showPlanForm},
		{"POST /patients/{tag}/plan/write", desk.WritePlan, writePlan},
		{"GET /plans/{id}", desk.SeePatients, showPlan},
		{"GET /plans/{id}/sound/{item}", desk.SeePatients, playItem},
		{"GET /plans/{id}/approve", desk.ApprovePlan, showApproval},
		{"POST /plans/{id}/approve", desk.ApprovePlan, approvePlan},
		{"POST /plans/{id}/withdraw", desk.WritePlan, withdrawPlan},
	}
}
