package web

import (
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"evenbell/coach/desk"
)

// Options are what the pages are made of.
type Options struct {
	Desk *desk.Desk
	// Plain is true where browsers come by HTTP without TLS, as on the machine
	// itself or behind a proxy there; cookies then have no Secure name.
	Plain bool
	// Sound plays what a station would; nil where nothing can.
	Sound Sound
	// Replay leads sessions again, to draw them; nil where nothing can.
	Replay Replay
}

// Site is the staff's pages, as a handler.
type Site struct {
	Options
	desk      *desk.Desk
	assets    *assets
	templates map[string]*template.Template
	table     map[string]route // by pattern
	livePages map[string]livePage
	handler   http.Handler
	beat      time.Duration // see beatEvery
	look      time.Duration // see lookEvery
	zone      atomic.Pointer[time.Location]
	streams   streams
}

// New makes the pages. It fails only where a template or an asset is broken.
func New(o Options) (*Site, error) {
	s := &Site{Options: o, desk: o.Desk, table: map[string]route{}, beat: beatEvery, look: lookEvery}
	s.zone.Store(time.UTC)
	var err error
	if s.assets, err = loadAssets(); err != nil {
		return nil, err
	}
	if s.templates, err = parseTemplates(s.assets, s.zone.Load, s.desk.Time); err != nil {
		return nil, err
	}
	s.livePages = livePages()
	mux := http.NewServeMux()
	mux.Handle("GET /assets/{name}", s.assets)
	for _, r := range s.routes() {
		s.table[r.Pattern] = r
		mux.Handle(r.Pattern, s.serve(r))
	}
	mux.Handle("/", s.serve(route{"/", anybody, func(v *visit) error { return missing("page") }}))
	s.handler = guard(mux)
	return s, nil
}

func (s *Site) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// serve lets in who may, and makes a page of every error.
func (s *Site) serve(rt route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, mostBytes)
		v, err := s.visit(w, r)
		if err == nil {
			err = v.enter(rt)
		}
		if err != nil {
			v.fail(err)
		}
	})
}

// mostBytes bounds what a form may send; a recorded voice line is the largest.
const mostBytes = 4 << 20

// visit finds out who is asking. The visit can be used even with an error.
func (s *Site) visit(w http.ResponseWriter, r *http.Request) (*visit, error) {
	v := &visit{site: s, w: w, r: r, now: s.desk.Time()}
	clinic, err := s.desk.Clinic(r.Context())
	if err != nil {
		return v, fmt.Errorf("reading the clinic's settings: %w", err)
	}
	v.clinic = clinic
	zone, err := s.desk.Zone(r.Context())
	if err != nil {
		return v, fmt.Errorf("finding the clinic's time zone: %w", err)
	}
	s.zone.Store(zone)
	v.now = v.now.In(zone)
	c, err := r.Cookie(v.cookieName(loginCookie))
	if err != nil {
		return v, nil
	}
	who, err := s.desk.LoggedIn(r.Context(), c.Value)
	switch {
	case err == nil:
		v.who, v.secret = who, c.Value
	case !errors.Is(err, desk.ErrNotLoggedIn):
		return v, fmt.Errorf("looking at the login: %w", err)
	}
	return v, nil
}

// enter serves what the table says, to whom it says.
func (v *visit) enter(rt route) error {
	switch {
	case rt.Does == anybody:
	case v.who.Name == "":
		return askLogin(v)
	case !v.who.May(rt.Does):
		return &problem{http.StatusForbidden, "This page is not for your role", "You are logged in as " + string(v.who.Role) + ". Who may " + string(rt.Does) + " can be seen under Clinic; ask whoever looks after the desk if that should be you."}
	}
	return rt.Serve(v)
}

//go:embed templates
var templateFiles embed.FS

// policy lets a page run and show nothing but ours, and be framed by nobody.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; media-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// guard sets what every answer carries and refuses what other sites' pages
// send.
func guard(next http.Handler) http.Handler {
	origins := http.NewCrossOriginProtection()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(self)")
		// Pages name people: no cache keeps them. Assets say otherwise.
		h.Set("Cache-Control", "no-store")
		origins.Handler(next).ServeHTTP(w, r)
	})
}

// parseTemplates makes one template of each page: the frame, its parts and the
// page's own file.
func parseTemplates(a *assets, zone func() *time.Location, now func() time.Time) (map[string]*template.Template, error) {
	base, err := template.New("").Funcs(funcs(a, zone, now)).ParseFS(templateFiles, "templates/base.html", "templates/parts*.html")
	if err != nil {
		return nil, fmt.Errorf("reading the frame of the pages: %w", err)
	}
	files, err := fs.Glob(templateFiles, "templates/*.html")
	if err != nil {
		return nil, fmt.Errorf("listing the pages: %w", err)
	}
	pages := map[string]*template.Template{}
	for _, f := range files {
		name := strings.TrimSuffix(path.Base(f), ".html")
		if name == "base" || strings.HasPrefix(name, "parts") {
			continue
		}
		t, err := base.Clone()
		if err != nil {
			return nil, fmt.Errorf("reading page %s: %w", name, err)
		}
		if pages[name], err = t.ParseFS(templateFiles, f); err != nil {
			return nil, fmt.Errorf("reading page %s: %w", name, err)
		}
	}
	return pages, nil
}

// funcs are what templates can call.
func funcs(a *assets, zone func() *time.Location, now func() time.Time) template.FuncMap {
	f := template.FuncMap{
		"asset":    a.address,
		"field":    newField,
		"choices":  choices,
		"icon":     icon,
		"pairs":    pairs,
		"list":     func(s ...any) []any { return s },
		"clock":    func(t time.Time) string { return stamp(t, zone(), "15:04") },
		"clocks":   func(t time.Time) string { return stamp(t, zone(), "15:04:05") },
		"date":     func(t time.Time) string { return stamp(t, zone(), "2 Jan 2006") },
		"when":     func(t time.Time) string { return stamp(t, zone(), "2 Jan 2006 15:04") },
		"lately":   func(t time.Time) string { return lately(t, now(), zone()) },
		"machine":  func(t time.Time) string { return t.UTC().Format(time.RFC3339) },
		"millis":   func(t time.Time) int64 { return t.UnixMilli() },
		"ago":      ago,
		"plural":   plural,
		"plural64": func(n int64, one, many string) string { return plural(int(n), one, many) },
		"join":     strings.Join,
		"title":    capital,
		"short":    short,
		"longday":  longDay,
		"decibels": decibels,
		"in":       func(s string, list ...string) bool { return slices.Contains(list, s) },
	}
	maps.Copy(f, wordFuncs)
	return f
}

// pairs makes a map of names and values, to hand several things to a template.
func pairs(a ...any) (map[string]any, error) {
	if len(a)%2 != 0 {
		return nil, fmt.Errorf("pairs come in twos")
	}
	m := map[string]any{}
	for i := 0; i < len(a); i += 2 {
		name, ok := a[i].(string)
		if !ok {
			return nil, fmt.Errorf("%v is no name", a[i])
		}
		m[name] = a[i+1]
	}
	return m, nil
}
