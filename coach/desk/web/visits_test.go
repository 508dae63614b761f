package web

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// joined is the newest visit that went to three places and was completed.
func (c *clinic) joined() review.Visit {
	all, err := c.store.Sessions(c.t.Context(), store.SessionFilter{})
	require.NoError(c.t, err)
	var newest review.Visit
	for _, v := range desk.Join(all) {
		if len(v.Stays) == 3 && v.Outcome() == coach.Completed {
			newest = v
		}
	}
	require.NotEmpty(c.t, newest.Stays, "nobody went from place to place")
	return newest
}

// A visit to three places is one row in the lists, one page, one note, one PDF,
// one encounter, and one value in the tables; each place keeps its own log.
func (c *clinic) aVisit(t *testing.T) {
	c = c.on(t)
	b, v := c.browser(store.Supervisor), c.joined()
	for _, list := range []string{"/patients/" + v.Tag + "/sessions", "/patients/" + v.Tag, "/review/" + v.Tag} {
		page := b.get(list).body
		assert.Equal(t, 1, strings.Count(page, `href="/visits/`+v.ID()+`"`), list)
		for _, s := range v.Stays {
			assert.NotContains(t, page, `<a class="tall" href="/sessions/`+s.ID+`">`+v.Start().Format("2 Jan 2006"), list)
		}
	}
	list := b.get("/patients/" + v.Tag + "/sessions").body
	assert.Regexp(t, `Bay \d, then Bay \d, then Bay \d`, list)

	page := b.get("/visits/" + v.ID())
	require.Equal(t, http.StatusOK, page.status, page.body)
	at := 0
	for _, s := range v.Stays { // in their order
		next := strings.Index(page.body[at:], `href="/sessions/`+s.ID+`"`)
		require.GreaterOrEqual(t, next, 0, s.ID)
		at += next
	}
	for _, want := range []string{"Place by place", "Between the places, from the last set at one to the first at the next:", "No new symptoms since the last place",
		"Set by set", "It was done in 3 parts.", "It was completed.", "The log of this visit is whole."} {
		assert.Contains(t, page.body, want)
	}
	assert.NotContains(t, page.body, "not begun", "what one place did not do another did")
	for i, s := range v.Stays {
		assert.Equal(t, http.StatusOK, b.get("/visits/"+s.ID).status, "any of its sessions leads to it")
		one := b.get("/sessions/" + s.ID)
		require.Equal(t, http.StatusOK, one.status)
		assert.Contains(t, one.body, `href="/visits/`+v.ID()+`"`)
		assert.NotContains(t, one.body, "not begun", "a part's own note is of what was to be done there")
		in := b.get("/sessions/" + s.ID + "/incident")
		require.Equal(t, http.StatusOK, in.status)
		assert.Contains(t, in.body, "The other places of this visit")
		for k, other := range v.Stays {
			assert.Equal(t, k != i, strings.Contains(in.body, `<li><a href="/sessions/`+other.ID+`"`), "%d in %d", k, i)
		}
	}
	pdf := b.get("/visits/" + v.ID() + "/pdf")
	assert.Equal(t, "application/pdf", pdf.header.Get("Content-Type"))
	assert.True(t, strings.HasPrefix(pdf.body, "%PDF-"))
	assert.Equal(t, http.StatusNotFound, b.get("/visits/nothing").status)
	c.visitInFiles(b, v)

	all, err := c.store.Sessions(t.Context(), store.SessionFilter{Tag: v.Tag})
	require.NoError(t, err)
	whole := desk.Join(all)[0]
	require.False(t, whole.Joined())
	a := b.get("/visits/" + whole.ID())
	assert.Equal(t, http.StatusSeeOther, a.status)
	assert.Equal(t, "/sessions/"+whole.ID(), a.to)
}

func (c *clinic) visitInFiles(b *browser, v review.Visit) {
	t := c.t
	rows, err := csv.NewReader(strings.NewReader(b.get("/records/sessions?format=csv&tag=" + v.Tag).body)).ReadAll()
	require.NoError(t, err)
	last := len(rows[0]) - 1
	require.Equal(t, "visit", rows[0][last])
	n := 0
	for _, r := range rows[1:] {
		if v.Has(r[0]) {
			n++
			assert.Equal(t, v.ID(), r[last])
		} else {
			assert.NotEqual(t, v.ID(), r[last])
		}
	}
	assert.Equal(t, 3, n)

	var bundle struct {
		Entry []struct {
			FullURL  string
			Resource struct {
				ResourceType, Status string
				Identifier           []struct{ Value string }
				Encounter            struct{ Reference string }
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(b.get("/patients/"+v.Tag+"/fhir").body), &bundle))
	url, parts := "", 0
	for _, e := range bundle.Entry {
		if e.Resource.ResourceType == "Encounter" && e.Resource.Identifier[0].Value == v.ID() {
			url = e.FullURL
			assert.Equal(t, "finished", e.Resource.Status)
		}
	}
	require.NotEmpty(t, url)
	for _, e := range bundle.Entry {
		if e.Resource.ResourceType == "Procedure" && e.Resource.Encounter.Reference == url {
			parts++
			assert.True(t, v.Has(e.Resource.Identifier[0].Value), fmt.Sprint(e.Resource.Identifier))
		}
	}
	assert.Equal(t, 3, parts)

	var report struct {
		Visit []struct{ Session, Station, Outcome, How, Began, Ended string }
	}
	require.NoError(t, json.Unmarshal([]byte(b.get("/sessions/"+v.Stays[1].ID+"/incident/json").body), &report))
	require.Len(t, report.Visit, 2)
	assert.Equal(t, v.Stays[0].ID, report.Visit[0].Session)
	assert.Equal(t, v.Stays[2].ID, report.Visit[1].Session)
	assert.NotEmpty(t, report.Visit[0].Station)
	assert.Equal(t, "completed", report.Visit[0].Outcome)
	assert.NotEmpty(t, report.Visit[1].Ended)
}
