package web

import (
	"net/http"
	"slices"
	"strings"

	"evenbell/coach/desk"
)

// anybody marks what needs no login.
const anybody desk.Action = ""

// loggedIn marks what everybody may who has logged in.
const loggedIn = desk.SeeNow

// route is one line of the permission table. Which roles may do what is said
// once, by the desk; the line says which of these things a page is.
type route struct {
	Pattern string // method and path, as http.ServeMux takes it
	Does    desk.Action
	Serve   func(*visit) error
}

// routes is the permission table: the router is built from it, and what is not
// in it is not there.
func (s *Site) routes() []route {
	return slices.Concat([]route{
		{"GET /login", anybody, showLogin},
		{"POST /login", anybody, login},
		{"POST /logout", loggedIn, logout},
		{"GET /{$}", loggedIn, func(v *visit) error { return v.to("/now") }},
		{"GET /more", loggedIn, func(v *visit) error { return v.page("more", "More", nil) }},
		{"GET /live", loggedIn, live},
	}, patientRoutes(), planRoutes(), reviewRoutes(), clinicRoutes(), recordRoutes(), nowRoutes(), dayRoutes(), stationRoutes(), classRoutes())
}

// menuLines are the ways to go, for whoever the table lets go there.
var menuLines = []menuItem{
	{Path: "/now", Label: "Now", Icon: "now", With: []string{"/attentions", "/holds"}},
	{Path: "/day", Label: "The day", Icon: "day", With: []string{"/classes"}},
	{Path: "/patients", Label: "Patients", Icon: "people", With: []string{"/plans", "/sessions", "/visits"}},
	{Path: "/review", Label: "Review", Icon: "review"},
	{Path: "/stations", Label: "Stations", Icon: "station"},
	{Path: "/clinic", Label: "Clinic", Icon: "clinic"},
}

// mainWays is how many ways fit at the bottom of a phone beside "more".
const mainWays = 4

// menu is where the person asking may go.
func (v *visit) menu() (out []menuItem) {
	for _, m := range menuLines {
		if v.mayGo(m.Path) {
			m.Here = slices.ContainsFunc(append(m.With, m.Path), func(p string) bool {
				return v.r.URL.Path == p || strings.HasPrefix(v.r.URL.Path, p+"/")
			})
			m.Main = len(out) < mainWays
			out = append(out, m)
		}
	}
	return out
}

// mayGo reports whether the person asking may see the page of a pattern.
func (v *visit) mayGo(pattern string) bool {
	r, ok := v.site.table[http.MethodGet+" "+pattern]
	return ok && (r.Does == anybody || v.who.May(r.Does))
}
