package web

import (
	"context"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

// placeholder is a part of a pattern that stands for anything.
var placeholder = regexp.MustCompile(`\{[^}]*\}`)

// request is a request to an address of a pattern, of something that does not
// exist.
func request(b *browser, pattern string) answer {
	method, path, _ := strings.Cut(pattern, " ")
	path = strings.TrimSuffix(path, "{$}")
	path = placeholder.ReplaceAllStringFunc(path, func(p string) string {
		if p == "{tag}" {
			return "Z9"
		}
		return "999999"
	})
	if method == http.MethodPost {
		return b.post(path)
	}
	return b.get(path)
}

// The permission table, walked: each line by each role and by a stranger.
func TestNoPageWorksForARoleThatShouldNotHaveIt(t *testing.T) {
	c := newClinic(t)
	stranger := c.stranger()
	in := map[store.Role]*browser{}
	for role := range staffed {
		in[role] = c.browser(role)
	}
	require.Greater(t, len(c.site.table), 20)
	for pattern, r := range c.site.table {
		if pattern == "GET /live" || pattern == "POST /logout" {
			continue // the first has no end, the second ends the login; both have tests of their own
		}
		if r.Does == anybody {
			continue
		}
		a := request(stranger, pattern)
		if strings.HasPrefix(pattern, "GET ") {
			assert.Equal(t, http.StatusSeeOther, a.status, "%s by a stranger", pattern)
			assert.Contains(t, a.to, "/login?next=", pattern)
		} else {
			assert.Equal(t, http.StatusUnauthorized, a.status, "%s by a stranger", pattern)
		}
		for role, b := range in {
			a := request(b, pattern)
			if !c.as(role).May(r.Does) {
				assert.Equal(t, http.StatusForbidden, a.status, "%s by %s", pattern, role)
				continue
			}
			assert.NotEqual(t, http.StatusForbidden, a.status, "%s by %s", pattern, role)
			assert.Less(t, a.status, 500, "%s by %s", pattern, role)
			assert.NotContains(t, a.to, "/login", "%s by %s", pattern, role)
		}
	}
}

func TestEveryAnswerGuardsItself(t *testing.T) {
	c := newClinic(t)
	for _, path := range []string{"/login", "/now", "/nowhere", "/assets/nothing.css"} {
		h := c.browser(store.Supervisor).get(path).header
		assert.Equal(t, policy, h.Get("Content-Security-Policy"), path)
		assert.Equal(t, "nosniff", h.Get("X-Content-Type-Options"), path)
		assert.Equal(t, "no-store", h.Get("Cache-Control"), path)
	}
	assert.NotContains(t, policy, "unsafe")
}

func TestAPageOfAnotherSiteCanChangeNothing(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Admin)
	for _, h := range []http.Header{
		{"Sec-Fetch-Site": {"cross-site"}}, {"Sec-Fetch-Site": {"same-site"}}, {"Origin": {"https://elsewhere.example"}},
	} {
		r, err := http.NewRequest(http.MethodPost, b.base+"/stations", strings.NewReader("name=Bay+9"))
		require.NoError(t, err)
		r.Header = h.Clone()
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		assert.Equal(t, http.StatusForbidden, b.do(r).status, h)
	}
	all, err := c.store.Stations(t.Context())
	require.NoError(t, err)
	assert.Empty(t, all)
}

func TestAssetsAreKeptForEverUnderTheNameOfTheirContent(t *testing.T) {
	c := newClinic(t)
	b := c.stranger()
	links := regexp.MustCompile(`/assets/[^"]+`).FindAllString(b.get("/login").body, -1)
	require.Len(t, links, 3, "a style sheet, an icon and a script")
	for _, link := range links {
		a := b.get(link)
		assert.Equal(t, 200, a.status, link)
		assert.Equal(t, "public, max-age=31536000, immutable", a.header.Get("Cache-Control"), link)
		assert.Regexp(t, `\.[0-9a-f]{16}\.`, link)
	}
}

// The first page is to be light: it is fetched on a clinic's Wi-Fi by tablets.
func TestTheFirstPageIsLight(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Assistant)
	page := b.get("/now")
	total := len(page.body)
	links := regexp.MustCompile(`/assets/[^"]+`).FindAllString(page.body, -1)
	for _, link := range links {
		r, err := http.NewRequest(http.MethodGet, b.base+link, nil)
		require.NoError(t, err)
		r.Header.Set("Accept-Encoding", "gzip")
		total += len(b.do(r).body)
	}
	t.Logf("%d requests, %d bytes", 1+len(links), total)
	assert.LessOrEqual(t, len(links), 5)
	assert.Less(t, total, 120_000)
}

func TestTheMenuShowsWhereOneMayGoAndNoMore(t *testing.T) {
	c := newClinic(t)
	for role := range staffed {
		page := c.browser(role).get("/now").body
		for _, m := range menuLines {
			r, ok := c.site.table["GET "+m.Path]
			if !ok {
				continue
			}
			has := strings.Contains(page, fmt.Sprintf(`href="%s"`, m.Path))
			assert.Equal(t, c.as(role).May(r.Does), has, "%s for %s", m.Path, role)
		}
	}
}

func TestNewsIsForWhoIsLoggedIn(t *testing.T) {
	c := newClinic(t)
	assert.Equal(t, http.StatusUnauthorized, c.stranger().get("/live?page=now&at=/now").status)
	b := c.browser(store.Admin)
	assert.Equal(t, http.StatusBadRequest, b.get("/live?page=now&at=https://elsewhere.example/").status)

	// A page that is not the admin's has no news for the admin but alarms.
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	ear := listen(ctx, t, b, "day", "/day", "")
	for _, got := range ear.until("beat") {
		assert.NotContains(t, got.data, "block-comers")
	}
}
