package web

import (
	"crypto/tls"
	"html"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

func TestLoggingInLeadsWhereOneWanted(t *testing.T) {
	c := newClinic(t)
	b := c.stranger()
	a := b.get("/stations?x=1")
	require.Equal(t, "/login?next=%2Fstations%3Fx%3D1", a.to)
	a = b.get(a.to)
	assert.Contains(t, a.body, `value="/stations?x=1"`)
	a = b.post("/login", "name", staffed[store.Admin], "password", password, "next", "/stations?x=1")
	assert.Equal(t, "/stations?x=1", a.to)
	assert.Equal(t, 200, b.get(a.to).status)

	// Never to another site.
	for _, next := range []string{"https://elsewhere.example/", "//elsewhere.example", `/\elsewhere.example`, "javascript:1", ""} {
		assert.Equal(t, "/now", c.stranger().post("/login", "name", staffed[store.Admin], "password", password, "next", next).to, next)
	}

	require.Equal(t, "/login", b.post("/logout").to)
	assert.Contains(t, b.get("/stations").to, "/login")
}

func TestAWrongLoginSaysSoAndKeepsTheName(t *testing.T) {
	c := newClinic(t)
	a := c.stranger().post("/login", "name", "R. Okafor", "password", "wrong one entirely")
	assert.Equal(t, http.StatusUnprocessableEntity, a.status)
	assert.Contains(t, a.body, "The name or the password is wrong.")
	assert.Contains(t, a.body, `value="R. Okafor"`)
	assert.NotContains(t, a.body, "wrong one entirely", "a password is never sent back")
	a = c.stranger().post("/login")
	assert.Contains(t, a.body, "2 things to put right")
	assert.Contains(t, a.body, `href="#f-name"`)
	assert.Contains(t, a.body, `aria-invalid="true"`)
}

// Half an hour of typing, and the login has run out: the form goes through the
// login and can then be sent.
func TestNothingTypedIsLostWhenTheLoginRanOut(t *testing.T) {
	c := newClinic(t)
	b := c.browser(store.Admin)
	c.ahead.Store(int64(31 * time.Minute))
	a := b.post("/stations", "name", `Bay "7" <b>`, "place", "by the door")
	require.Equal(t, http.StatusUnauthorized, a.status)
	kept := between(t, a.body, `name="kept" value="`, `"`)
	a = b.post("/login", "name", staffed[store.Admin], "password", password, "next", "/stations", "kept", html.UnescapeString(kept))
	require.Equal(t, 200, a.status)
	assert.Contains(t, a.body, `action="/stations"`)
	assert.Contains(t, a.body, `name="name" value="Bay &#34;7&#34; &lt;b&gt;"`)
	assert.Contains(t, a.body, `name="place" value="by the door"`)
	all, err := c.store.Stations(t.Context())
	require.NoError(t, err)
	assert.Empty(t, all, "nothing is done before it is sent again")
	a = b.post("/stations", "name", `Bay "7" <b>`, "place", "by the door")
	assert.Equal(t, http.StatusSeeOther, a.status, a.body)
}

func between(t *testing.T, s, from, to string) string {
	t.Helper()
	_, rest, ok := strings.Cut(s, from)
	require.True(t, ok, "%q is not in the page", from)
	out, _, ok := strings.Cut(rest, to)
	require.True(t, ok)
	return out
}

func TestTheCookieIsOursAlone(t *testing.T) {
	c := newClinic(t)
	site, err := New(Options{Desk: c.desk})
	require.NoError(t, err)
	server := httptest.NewTLSServer(site)
	t.Cleanup(server.Close)
	b := c.stranger()
	b.base, b.http.Transport = server.URL, server.Client().Transport
	a := b.post("/login", "name", staffed[store.Admin], "password", password)
	require.Equal(t, http.StatusSeeOther, a.status)
	set := a.header.Get("Set-Cookie")
	for _, want := range []string{"__Host-evenbell=", "Path=/", "Secure", "HttpOnly", "SameSite=Strict"} {
		assert.Contains(t, set, want)
	}
	assert.NotContains(t, set, "Domain")
	assert.Equal(t, 200, b.get("/now").status)
}

// Wrong logins are counted against whoever is there, and nobody says for
// themselves who that is.
func TestWhereABrowserIs(t *testing.T) {
	for _, c := range []struct {
		name, remote string
		tls          bool
		forwarded    []string
		want         string
	}{
		{"straight", "192.0.2.7:5000", true, nil, "192.0.2.7"},
		{"straight, with a word of its own", "192.0.2.7:5000", true, []string{"198.51.100.1"}, "192.0.2.7"},
		{"this machine over TLS, with a word of its own", "127.0.0.1:5000", true, []string{"198.51.100.1"}, "127.0.0.1"},
		{"without TLS from elsewhere", "192.0.2.7:5000", false, []string{"198.51.100.1"}, "192.0.2.7"},
		{"a proxy here", "127.0.0.1:5000", false, []string{"192.0.2.7"}, "192.0.2.7"},
		{"a proxy here that names the port", "[::1]:5000", false, []string{"192.0.2.7:40000"}, "192.0.2.7"},
		{"a proxy here, IPv6", "127.0.0.1:5000", false, []string{"2001:db8::7"}, "2001:db8::7"},
		{"a proxy here that adds to what a browser made up", "127.0.0.1:5000", false, []string{"198.51.100.1, 192.0.2.7"}, "192.0.2.7"},
		{"the same in two lines", "127.0.0.1:5000", false, []string{"198.51.100.1", "192.0.2.7"}, "192.0.2.7"},
		{"a proxy here that says nothing", "127.0.0.1:5000", false, nil, "127.0.0.1"},
		{"a proxy here that says no address", "127.0.0.1:5000", false, []string{"unknown"}, "127.0.0.1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := httptest.NewRequest(http.MethodPost, "/login", nil)
			r.RemoteAddr, r.TLS = c.remote, nil
			if c.tls {
				r.TLS = &tls.ConnectionState{}
			}
			r.Header["X-Forwarded-For"] = c.forwarded
			assert.Equal(t, c.want, address(r))
		})
	}
}
