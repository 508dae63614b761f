package web

import "evenbell/coach/desk"

// reviewRoutes are the pages of what was done and what comes next.
func reviewRoutes() []route {
	return []route{
		{"GET /review", desk.SeeReview, showReviews},
		{"GET /review/{tag}", desk.SeeReview, showReview},
		{"POST /review/{tag}/holds", desk.DecideProposal, acceptHolds},
		{"POST /review/{tag}/decide", desk.DecideProposal, decide},
		{"POST /review/{tag}/undo", desk.DecideProposal, undoDecision},
		{"POST /review/{tag}/observed", desk.NoteObservation, noteObserved},
		{"POST /review/{tag}/next", desk.WritePlan, draftNext},
	}
}
