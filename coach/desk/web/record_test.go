package web

import (
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// stopped is the newest session that ended by the red button.
func (c *clinic) stopped() store.Session {
	all, err := c.store.Sessions(c.t.Context(), store.SessionFilter{})
	require.NoError(c.t, err)
	for _, s := range slices.Backward(all) {
		if s.Outcome == coach.Stopped {
			return s
		}
	}
	require.Fail(c.t, "nobody was stopped")
	return store.Session{}
}

// The pages over twelve weeks of real sessions, all in one clinic: making the
// weeks takes seconds.
func TestPagesOverRealSessions(t *testing.T) {
	if testing.Short() {
		t.Skip("twelve weeks take seconds")
	}
	c := newPast(t)
	t.Run("every patient", c.everyPatient)
	t.Run("a stop", c.aStop)
	t.Run("an incident", c.anIncident)
	t.Run("a visit", c.aVisit)
	t.Run("tables", c.tables)
	t.Run("one record", c.oneRecord)
	t.Run("roles", c.whoSeesWhat)
	t.Run("review", c.aReview)
	t.Run("looked at", c.lookedAt)
	t.Run("typed", c.typedStaysText)
}

func (c *clinic) on(t *testing.T) *clinic {
	return &clinic{t: t, store: c.store, desk: c.desk, site: c.site, server: c.server, link: c.link, peers: c.peers}
}

func (c *clinic) everyPatient(t *testing.T) {
	b := c.on(t).browser(store.Supervisor)
	people, err := c.store.Patients(t.Context(), store.PatientFilter{})
	require.NoError(t, err)
	require.Len(t, people, 12)
	list := b.get("/patients").body
	found := b.get("/patients?find=" + people[3].Tag).body
	for i, p := range people {
		assert.Contains(t, list, "/patients/"+p.Tag)
		assert.Equal(t, p.Tag == people[3].Tag, strings.Contains(found, `"/patients/`+p.Tag+`"`), "a search finds %s alone", people[3].Tag)
		if i%4 != 0 {
			continue
		}
		for _, page := range []string{"", "/record", "/home", "/screening", "/progress", "/progress?weeks=104", "/views", "/sessions", "/papers", "/plan", "/plan/write?from=last", "/plan/write?from=quay-mat"} {
			a := b.get("/patients/" + p.Tag + page)
			assert.Equal(t, http.StatusOK, a.status, "%s%s: %s", p.Tag, page, a.body)
		}
		assert.Equal(t, http.StatusOK, b.get("/review/"+p.Tag).status)
	}
	page := b.get("/patients/" + people[0].Tag + "/progress").body
	assert.Contains(t, page, "<title id=\"chart-weeks-title\">")
	assert.NotContains(t, page, "style=")
	views := b.get("/patients/" + people[0].Tag + "/views").body
	assert.Contains(t, views, "see patients", "every look is in the trail")
}

func (c *clinic) aStop(t *testing.T) {
	b, s := c.on(t).browser(store.Supervisor), c.stopped()
	page := b.get("/sessions/" + s.ID)
	require.Equal(t, http.StatusOK, page.status, page.body)
	for _, want := range []string{"Set by set", "stopped with the red button", "/attentions/", "Everything around it"} {
		assert.Contains(t, page.body, want)
	}
	pdf := b.get("/sessions/" + s.ID + "/pdf")
	assert.Equal(t, "application/pdf", pdf.header.Get("Content-Type"))
	assert.True(t, strings.HasPrefix(pdf.body, "%PDF-"))
	drawn := b.get("/sessions/" + s.ID + "/picture")
	assert.Equal(t, "image/svg+xml; charset=utf-8", drawn.header.Get("Content-Type"))
	wellFormed(t, drawn.body)
	assert.Equal(t, http.StatusNotFound, b.get("/sessions/nothing").status)
	assert.Equal(t, http.StatusNotFound, b.get("/sessions/nothing/pdf").status)
}

func wellFormed(t *testing.T, text string) {
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		require.NoError(t, err)
	}
}

func (c *clinic) anIncident(t *testing.T) {
	b, s := c.on(t).browser(store.Supervisor), c.stopped()
	page := b.get("/sessions/" + s.ID + "/incident")
	require.Equal(t, http.StatusOK, page.status, page.body)
	for _, want := range []string{"chain holds", "What was done, and how it ended", "Moment by moment", "approved by", "Screened", "On duty", "stop"} {
		assert.Contains(t, page.body, want)
	}
	assert.NotContains(t, page.body, "chain broken")
	var report struct {
		Format string
		Tag    string
		Chains []struct{ Holds bool }
		Log    []struct{ Line, Hash string }
	}
	file := b.get("/sessions/" + s.ID + "/incident/json")
	require.NoError(t, json.Unmarshal([]byte(file.body), &report))
	assert.Equal(t, "incident/1", report.Format)
	assert.Equal(t, s.Tag, report.Tag)
	assert.GreaterOrEqual(t, int64(len(report.Log)), s.Entries)
	require.NotEmpty(t, report.Chains)
	for _, chain := range report.Chains {
		assert.True(t, chain.Holds)
	}
	assert.Contains(t, file.header.Get("Content-Disposition"), "attachment; filename=")
	rows, err := csv.NewReader(strings.NewReader(b.get("/sessions/" + s.ID + "/incident/csv").body)).ReadAll()
	require.NoError(t, err)
	assert.Greater(t, len(rows), 20)
	for line := range strings.SplitSeq(strings.TrimSpace(b.get("/sessions/"+s.ID+"/incident/jsonl").body), "\n") {
		require.True(t, json.Valid([]byte(line)), line)
	}
	assert.Equal(t, http.StatusNotFound, b.get("/sessions/"+s.ID+"/incident/xml").status)
	// The admin may have the file, and does not learn the name from it.
	who, err := c.store.PatientByTag(t.Context(), s.Tag)
	require.NoError(t, err)
	admin := c.on(t).browser(store.Admin).get("/sessions/" + s.ID + "/incident")
	require.Equal(t, http.StatusOK, admin.status)
	assert.NotContains(t, admin.body, who.Name)
	assert.Contains(t, page.body, who.Name)
}

func (c *clinic) tables(t *testing.T) {
	b := c.on(t).browser(store.Admin)
	zone, err := c.desk.Zone(t.Context())
	require.NoError(t, err)
	all, err := c.store.Sessions(t.Context(), store.SessionFilter{Since: time.Date(2026, 2, 16, 0, 0, 0, 0, zone)})
	require.NoError(t, err)
	require.Greater(t, len(all), 20)
	a := b.get("/records/sessions?format=csv&since=2026-02-16")
	require.Equal(t, http.StatusOK, a.status, a.body)
	rows, err := csv.NewReader(strings.NewReader(a.body)).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, len(all)+1)
	for _, what := range []string{"sets", "entries"} {
		a := b.get("/records/" + what + "?format=jsonl&tag=K4&since=2026-02-16")
		require.Equal(t, http.StatusOK, a.status)
		lines := strings.Split(strings.TrimSpace(a.body), "\n")
		assert.Greater(t, len(lines), 20, what)
		for _, l := range lines {
			var row map[string]any
			require.NoError(t, json.Unmarshal([]byte(l), &row), l)
			assert.Equal(t, "K4", row["tag"], what)
		}
	}
	people, err := c.store.Patients(t.Context(), store.PatientFilter{})
	require.NoError(t, err)
	for _, p := range people {
		assert.NotContains(t, a.body, p.Name, "tags, never names")
	}
	assert.Equal(t, http.StatusBadRequest, b.get("/records/sessions?format=xls").status)
	assert.Equal(t, http.StatusBadRequest, b.get("/records/sessions?format=csv&since=soon").status)
	assert.Equal(t, http.StatusNotFound, b.get("/records/everything?format=csv").status)
}

func (c *clinic) oneRecord(t *testing.T) {
	b := c.on(t).browser(store.Supervisor)
	var bundle struct {
		ResourceType string
		Entry        []struct{ Resource struct{ ResourceType string } }
	}
	a := b.get("/patients/K4/fhir")
	require.Equal(t, http.StatusOK, a.status, a.body)
	require.NoError(t, json.Unmarshal([]byte(a.body), &bundle))
	assert.Equal(t, "Bundle", bundle.ResourceType)
	kinds := map[string]int{}
	for _, e := range bundle.Entry {
		kinds[e.Resource.ResourceType]++
	}
	sessions, err := c.store.Sessions(t.Context(), store.SessionFilter{Tag: "K4"})
	require.NoError(t, err)
	assert.Equal(t, len(sessions), kinds["Procedure"])
	assert.Positive(t, kinds["CarePlan"])
	assert.Equal(t, http.StatusForbidden, c.on(t).browser(store.Admin).get("/patients/K4/fhir").status)

	p, err := c.store.PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
	all, err := c.store.PrescriptionsOf(t.Context(), p.ID)
	require.NoError(t, err)
	pdf := b.get("/plans/" + itoa(all[0].ID) + "/pdf")
	require.Equal(t, http.StatusOK, pdf.status)
	assert.True(t, strings.HasPrefix(pdf.body, "%PDF-"))
}

// An assistant sees what was done and is offered no decision; an admin sees no
// patient.
func (c *clinic) whoSeesWhat(t *testing.T) {
	assistant, admin := c.on(t).browser(store.Assistant), c.on(t).browser(store.Admin)
	for _, p := range []string{"K4", "R5", "W7"} {
		a := assistant.get("/review/" + p)
		require.Equal(t, http.StatusOK, a.status)
		assert.NotContains(t, a.body, "/decide")
		assert.NotContains(t, a.body, "/holds\"")
		assert.Equal(t, http.StatusForbidden, assistant.post("/review/"+p+"/holds").status)
		page := assistant.get("/patients/" + p).body
		assert.NotContains(t, page, "/record\"")
		assert.NotContains(t, page, "/views\"")
		for _, path := range []string{"/patients/" + p, "/review/" + p, "/patients/" + p + "/progress", "/patients/" + p + "/sessions"} {
			assert.Equal(t, http.StatusForbidden, admin.get(path).status, path)
		}
	}
}
