package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
)

// visit is one request for a page, by somebody who may make it.
type visit struct {
	site *Site
	w    http.ResponseWriter
	r    *http.Request
	// who is asking; without a name only on the pages that need no login.
	who    desk.Actor
	secret string    // of the login; empty without
	now    time.Time // in the clinic's time zone
	clinic desk.Clinic
}

// ctx ends when the browser goes away.
func (v *visit) ctx() context.Context { return v.r.Context() }

// desk is whom pages ask.
func (v *visit) desk() *desk.Desk { return v.site.desk }

// sheet is what every template gets: the frame around a page and the page's own
// data in Data.
type sheet struct {
	Title  string
	Who    desk.Actor // without a name before the login
	Clinic string
	Now    time.Time
	Menu   []menuItem
	Path   string
	Said   *flash
	Data   any
	Live   string // the page's name for live news; empty where only the strip is live
	Strip  stripView
}

// menuItem is one way to go.
type menuItem struct {
	Path, Label, Icon string
	With              []string // other paths that belong to it
	Here              bool
	Main              bool // among the few at the thumb; the others are under "more"
}

// page writes a page: a template of that name with its data.
func (v *visit) page(name, title string, data any) error {
	return v.pageAs(http.StatusOK, name, title, data)
}

// again writes a page once more whose form has faults, with everything typed
// still in it.
func (v *visit) again(name, title string, data any) error {
	return v.pageAs(http.StatusUnprocessableEntity, name, title, data)
}

func (v *visit) pageAs(status int, name, title string, data any) error {
	s, err := v.sheet(name, title, data)
	if err != nil {
		return err
	}
	s.Said = v.said()
	return v.write(status, name, s)
}

func (v *visit) sheet(name, title string, data any) (sheet, error) {
	s := sheet{Title: title, Who: v.who, Now: v.now, Path: v.r.URL.Path, Data: data, Clinic: v.clinic.Name}
	if v.who.Name == "" {
		return s, nil
	}
	s.Menu = v.menu()
	if _, ok := v.site.livePages[name]; ok {
		s.Live = name
	}
	var err error
	s.Strip, err = v.strip(name)
	return s, err
}

func (v *visit) write(status int, name string, s sheet) error {
	t, ok := v.site.templates[name]
	if !ok {
		return fmt.Errorf("no page is called %s", name)
	}
	// Into memory first, so that a page comes whole or as an error.
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "base", s); err != nil {
		return fmt.Errorf("writing page %s: %w", name, err)
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	v.w.WriteHeader(status)
	if v.r.Method != http.MethodHead {
		_, _ = v.w.Write(b.Bytes()) // the reader may have gone
	}
	return nil
}

// back ends a POST: the browser goes to another page, which says what was done.
func (v *visit) back(path, words string, a ...any) error {
	if words != "" {
		v.say(flash{Text: fmt.Sprintf(words, a...)})
	}
	return v.to(path)
}

// backBad is back with bad news.
func (v *visit) backBad(path, words string, a ...any) error {
	v.say(flash{Text: fmt.Sprintf(words, a...), Bad: true})
	return v.to(path)
}

// backUndo is back with a way to take what was done back: a POST to undo with
// these pairs of name and value.
func (v *visit) backUndo(path, undo string, with map[string]string, words string, a ...any) error {
	v.say(flash{Text: fmt.Sprintf(words, a...), Undo: undo, UndoWith: with})
	return v.to(path)
}

func (v *visit) to(path string) error {
	http.Redirect(v.w, v.r, path, http.StatusSeeOther)
	return nil
}

// sent is the form that was posted.
func (v *visit) sent() (*form, error) {
	if err := v.r.ParseForm(); err != nil {
		return nil, &problem{http.StatusBadRequest, "That could not be read", "The form came incomplete. Go back and send it again."}
	}
	return &form{Values: v.r.PostForm}, nil
}

// sentFile is a form that was posted with a file. What is wrong with the file
// is said at the field of its name.
func (v *visit) sentFile(name string) (*form, []byte, error) {
	err := v.r.ParseMultipartForm(mostBytes)
	f := &form{Values: v.r.PostForm}
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		f.fault(name, "The file is too large: at most 4 MB.")
		return f, nil, nil
	case err != nil && !errors.Is(err, http.ErrNotMultipart):
		return nil, nil, &problem{http.StatusBadRequest, "That could not be read", "The form came incomplete. Go back and send it again."}
	}
	part, _, err := v.r.FormFile(name)
	if err != nil {
		f.fault(name, "No file was sent. Choose one.")
		return f, nil, nil
	}
	defer part.Close()
	file, err := io.ReadAll(part)
	return f, file, err
}

// today is the clinic's day.
func (v *visit) today() coach.Day { return coach.DayOf(v.now) }

// local reports whether a path leads to one of our own pages and nowhere else.
func local(path string) bool {
	u, err := url.Parse(path)
	return err == nil && u.Scheme == "" && u.Host == "" && strings.HasPrefix(path, "/") &&
		!strings.HasPrefix(path, "//") && !strings.ContainsAny(path, "\\\r\n\t")
}

// problem is an error that becomes a page in plain words.
type problem struct {
	Status        int
	Title, Advice string
}

func (p *problem) Error() string { return strings.ToLower(p.Title) }

// missing is the problem of something that is not there.
func missing(what string) error {
	return &problem{http.StatusNotFound, "There is no such " + what, "It may have been removed, or the address is mistyped."}
}

// fail writes the page of an error. What we did not foresee goes to the log,
// and the page says only that it did.
func (v *visit) fail(err error) {
	var p *problem
	if !errors.As(err, &p) {
		p = explain(err)
	}
	if p == nil {
		slog.Error("a page failed", "path", v.r.Pattern, "error", err)
		p = &problem{http.StatusInternalServerError, "That did not work", "The desk has noted what happened. Nothing was changed, unless the page says so. Try again; if it stays, tell whoever looks after the desk."}
	}
	s, err := v.sheet("problem", p.Title, p)
	if err != nil {
		// Without the strip then: this page must come, whatever is broken.
		slog.Error("the alarms could not be shown", "error", err)
	}
	if err := v.write(p.Status, "problem", s); err != nil {
		slog.Error("the page of an error failed", "error", err)
		http.Error(v.w, p.Title, p.Status)
	}
}
