package web

import (
	"slices"

	"evenbell/coach/desk/store"
)

// viewsPage is who looked at a patient and changed something.
type viewsPage struct {
	Tag   string
	Lines []store.AuditLine // newest first
}

func showViews(v *visit) error {
	tag := v.r.PathValue("tag")
	lines, err := v.desk().Audit(v.ctx(), v.who, store.AuditFilter{Subject: tag, Limit: 300})
	if err != nil {
		return err
	}
	slices.Reverse(lines)
	return v.page("patient-views", "Who looked at "+tag, viewsPage{tag, lines})
}
