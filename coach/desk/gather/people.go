package gather

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
)

// dayIn is the day of a moment in a zone; empty for no moment.
func dayIn(t time.Time, zone *time.Location) coach.Day {
	if t.IsZero() {
		return ""
	}
	return coach.DayOf(t.In(zone))
}

// roundAbout is how long before and after a session the audit trail is looked
// through.
const roundAbout = 2 * time.Hour

// people is who was on duty, what they did about the session, and when the desk
// could not hear the station.
func (f From) people(ctx context.Context, s store.Session, in *record.Incident) error {
	if s.Begun.IsZero() {
		return nil // nobody can tell when it was
	}
	from, to := s.Begun, s.Newest
	if to.Before(from) {
		to = from
	}
	if err := f.duty(ctx, from, to, in); err != nil {
		return err
	}
	in.SelfTests = append(in.SelfTests, selfTests(in.Station)...)
	lines, err := f.store().AuditLines(ctx, store.AuditFilter{Since: from.Add(-roundAbout), Until: to.Add(roundAbout)})
	if err != nil {
		return fmt.Errorf("reading the audit trail: %w", err)
	}
	var about []string
	for _, x := range in.Attentions {
		about = append(about, fmt.Sprintf("attention %d", x.ID))
	}
	for _, l := range lines {
		if l.Subject == s.Tag || l.Subject == in.Station.Name || slices.Contains(about, l.Subject) {
			in.Audit = append(in.Audit, l)
		}
	}
	lost, err := f.store().Attentions(ctx, store.AttentionFilter{Station: s.Station, Since: from.Add(-24 * time.Hour), Until: to})
	if err != nil {
		return fmt.Errorf("finding when the station was lost: %w", err)
	}
	for _, x := range lost {
		if x.Reason != store.LostStation || x.Closed != nil && x.Closed.Before(from) {
			continue
		}
		gap := record.Gap{What: "the desk could not hear the station", From: x.Raised}
		if x.Closed != nil {
			gap.To = *x.Closed
		}
		in.Gaps = append(in.Gaps, gap)
	}
	return nil
}

// selfTests is the newest self-test the station has told of; earlier ones are not
// kept.
func selfTests(st store.Station) []record.SelfTest {
	var said struct {
		SelfTest struct {
			At       *time.Time `json:"at"`
			OK       bool       `json:"ok"`
			Findings []string   `json:"findings"`
		} `json:"self_test"`
	}
	if json.Unmarshal([]byte(st.Status), &said) != nil || said.SelfTest.At == nil {
		return nil
	}
	return []record.SelfTest{{At: *said.SelfTest.At, OK: said.SelfTest.OK, Findings: said.SelfTest.Findings}}
}

// duty is who had logged in and not out again, as the audit trail has it; a
// login ends by itself after its time.
func (f From) duty(ctx context.Context, from, to time.Time, in *record.Incident) error {
	staff, err := f.store().StaffList(ctx)
	if err != nil {
		return fmt.Errorf("finding who was on duty: %w", err)
	}
	role := map[string]store.Role{}
	for _, m := range staff {
		role[m.Name] = m.Role
	}
	lines, err := f.store().AuditLines(ctx, store.AuditFilter{Since: from.Add(-desk.AbsoluteLogin), Until: to})
	if err != nil {
		return fmt.Errorf("finding who was on duty: %w", err)
	}
	open := map[string]*record.Duty{}
	var order []string
	for _, l := range lines {
		switch {
		case l.Action == desk.AuditLogin && open[l.By] == nil:
			open[l.By] = &record.Duty{Name: l.By, Role: role[l.By], From: l.At}
			order = append(order, l.By)
		case l.Action == desk.AuditLogout && open[l.By] != nil && l.At.Before(from):
			delete(open, l.By)
		case l.Action == desk.AuditLogout && open[l.By] != nil:
			open[l.By].To = l.At
		}
	}
	seen := map[string]bool{}
	for _, name := range order {
		if d := open[name]; d != nil && !seen[name] {
			seen[name] = true
			in.OnDuty = append(in.OnDuty, *d)
		}
	}
	return nil
}
