package web

import (
	"fmt"
	"net/http"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// filledIn is everything that somebody can type on these pages, typed by
// somebody who means ill: names, notes, history, a protocol, an exercise of the
// clinic's own, a plan with faults, a decision's reason.
func (c *clinic) filledIn() {
	c.t.Helper()
	ctx, super, admin := c.t.Context(), c.as(store.Supervisor), c.as(store.Admin)
	p, err := c.store.PatientByTag(ctx, "K4")
	require.NoError(c.t, err)
	_, err = c.desk.ChangePatient(ctx, super, "K4", p.Version, func(p *store.Patient) error {
		p.Name, p.Record.Notes = "Ada "+hostile, hostile
		p.Record.Events = append(p.Record.Events, store.PastEvent{Day: "2026-01-02", What: hostile})
		p.Record.Precautions = []coach.Precaution{{Kind: coach.ShoulderTrouble, Side: coach.Left, Since: "2026-02-01"}}
		p.Record.Home = &store.Home{Emergency: hostile, Telephone: "020 912 0456", Equipment: []string{"1 kg"}}
		return nil
	})
	require.NoError(c.t, err)
	own, faults := plan.ReadOwn("own", []byte(`format = "exercises/1"
[[exercise]]
id = "own-towel-pull"
name = "towel <b>pull</b>"
set_up = "Sit <i>tall</i>."
care = "Keep your shoulders low."
region = "upper"
muscles = ["biceps"]
position = "seated"
first = "lift"
sides = ["both"]
loads = ["body"]
bars = ["wrist"]
verbs_of = "biceps-curl"
`))
	require.NotNil(c.t, own, "%v", faults)
	_, err = c.desk.ChangeClinic(ctx, admin, func(s *desk.Clinic) error {
		s.Emergency, s.Telephone, s.Exercises, s.Retention = hostile, hostile, own, 3650
		return nil
	})
	require.NoError(c.t, err)
	c.recorded(own[0])
	require.NoError(c.t, c.store.SetSetting(ctx, "retained", `{"day":"2026-02-02","waits":2,"was":"2025-11-30"}`))
	text := strings.Replace(string(protocol.Default().TOML()), "rest-floor\"\nvalue = 30", "rest-floor\"\nvalue = 45", 1)
	_, err = c.desk.WriteProtocol(ctx, admin, text)
	require.NoError(c.t, err)
}

// wardPages are the pages of patients, plans, reviews, records and the clinic.
func (c *clinic) wardPages() []shown {
	stop := c.stopped()
	open, _ := c.waiting()
	p, err := c.store.PatientByTag(c.t.Context(), "K4")
	require.NoError(c.t, err)
	versions, err := c.store.PrescriptionsOf(c.t.Context(), p.ID)
	require.NoError(c.t, err)
	sortVersions(versions)
	text, err := c.desk.FromProgramme(c.t.Context(), c.as(store.Supervisor), "K4", "quay-mat")
	require.NoError(c.t, err)
	draft, checked, err := c.desk.Draft(c.t.Context(), c.as(store.Supervisor), "K4", text.Text)
	require.NoError(c.t, err)
	require.NotNil(c.t, checked.Plan, "%v", checked.Faults)
	s, a := store.Supervisor, store.Admin
	return []shown{
		{"patients", s, "/patients"}, {"patient-new", s, "/patients/new"}, {"patient", s, "/patients/K4"}, {"patient-held", store.Assistant, "/patients/" + stop.Tag},
		{"record", s, "/patients/K4/record"}, {"home", s, "/patients/K4/home"}, {"screening", store.Assistant, "/patients/K4/screening"},
		{"progress", s, "/patients/T1/progress?exercise=biceps-curl"}, {"views", s, "/patients/K4/views"}, {"sessions", s, "/patients/K4/sessions"}, {"visit", s, "/visits/" + c.joined().ID()}, {"visit-part", s, "/sessions/" + c.joined().Stays[1].ID}, {"papers", s, "/patients/K4/papers"},
		{"plan-begin", s, "/patients/K4/plan"}, {"plan-write", s, "/patients/K4/plan/write?from=version-" + itoa(versions[0].ID)},
		{"plan", s, "/plans/" + itoa(versions[0].ID)}, {"plan-approve", s, fmt.Sprintf("/plans/%d/approve", draft.ID)},
		{"reviews", s, "/review"}, {"review", s, "/review/" + open},
		{"session", s, "/sessions/" + stop.ID}, {"incident", s, "/sessions/" + stop.ID + "/incident"},
		{"clinic", s, "/clinic"}, {"records", s, "/records"}, {"records-admin", a, "/records"}, {"protocol", s, "/clinic/protocol/1"},
		{"clinic-settings", a, "/clinic/settings"}, {"clinic-staff", a, "/clinic/staff"}, {"protocol-write", a, "/clinic/protocol/write"},
		{"exercises", a, "/clinic/exercises"}, {"exercise", a, "/clinic/exercises/own-towel-pull"}, {"exercise-new", store.Assistant, "/clinic/exercises/new"}, {"exercise-sign", s, "/clinic/exercises/own-towel-pull"}, {"audit", a, "/clinic/audit"}, {"password", a, "/password"},
	}
}

// lookedAt judges these pages in a browser. The looks that differ most are
// enough for each day's run; EVENBELL_LOOKS=all takes the rest.
func (c *clinic) lookedAt(t *testing.T) {
	c = c.on(t)
	c.filledIn()
	in := []look{looks[0], looks[5]}
	if os.Getenv("EVENBELL_LOOKS") == "all" {
		in = looks
	}
	c.lookAt(c.wardPages(), in...)
}

// Nothing that anybody typed is markup on any of these pages, and each is a
// whole page.
func (c *clinic) typedStaysText(t *testing.T) {
	c = c.on(t)
	in := map[store.Role]*browser{}
	for _, p := range c.wardPages() {
		if in[p.role] == nil {
			in[p.role] = c.browser(p.role)
		}
		a := in[p.role].get(p.path)
		require.Equal(t, http.StatusOK, a.status, "%s: %s", p.name, a.body)
		assert.NotContains(t, a.body, "<img src=x", p.name)
		assert.NotContains(t, a.body, "<script>window", p.name)
		assert.NotContains(t, a.body, "towel <b>pull", p.name)
		assert.NotContains(t, a.body, " style=", p.name)
		assert.Contains(t, a.body, "</html>", p.name)
	}
}
