package web

import (
	"errors"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"strings"

	"evenbell/coach/desk"
)

const loginCookie = "evenbell"

// loginSeconds is how long a browser keeps the cookie; the desk ends the login
// itself sooner.
const loginSeconds = 12 * 60 * 60

// cookieName is a cookie's name; the prefix makes browsers take it from us
// alone, over TLS alone.
func (v *visit) cookieName(name string) string {
	if v.site.Plain {
		return name
	}
	return "__Host-" + name
}

// cookie is one that no script reads and no other site sends.
func (v *visit) cookie(name, value string, seconds int) *http.Cookie {
	return &http.Cookie{Name: v.cookieName(name), Value: value, Path: "/", MaxAge: seconds, Secure: !v.site.Plain, HttpOnly: true, SameSite: http.SameSiteStrictMode}
}

// loginView is the login page. Kept is a form, encoded, that came when the login
// had run out: it is not lost, but carried through.
type loginView struct {
	Form *form
	Note string
	Kept string
}

func showLogin(v *visit) error {
	next := v.r.URL.Query().Get("next")
	if v.who.Name != "" && next == "" {
		return v.to("/now")
	}
	return v.page("login", "Log in", loginView{Form: newForm("next", next)})
}

// askLogin answers somebody who is not logged in: the login page, which then
// leads where they wanted to go, with what they typed.
func askLogin(v *visit) error {
	if v.r.URL.Path == "/live" || v.r.Header.Get("Sec-Fetch-Mode") == "cors" {
		return &problem{http.StatusUnauthorized, "Log in first", "This address is for pages of somebody who has logged in."}
	}
	if v.r.Method != http.MethodPost {
		next := url.Values{"next": {v.r.URL.RequestURI()}}
		return v.to("/login?" + next.Encode())
	}
	f, err := v.sent()
	if err != nil {
		return err
	}
	view := loginView{Form: newForm("next", v.r.URL.RequestURI()), Kept: f.Values.Encode(),
		Note: "Your login had run out. Nothing was changed yet, and nothing you typed is lost: log in, then send it."}
	return v.pageAs(http.StatusUnauthorized, "login", "Log in", view)
}

func login(v *visit) error {
	f, err := v.sent()
	if err != nil {
		return err
	}
	view := loginView{Form: f, Kept: f.value("kept")}
	name, password := f.need("name", "Type your name, as whoever looks after the desk wrote it down."), f.value("password")
	if password == "" {
		f.fault("password", "Type your password.")
	}
	if !f.ok() {
		return v.again("login", "Log in", view)
	}
	secret, _, err := v.desk().LogIn(v.ctx(), name, password, address(v.r))
	var wait desk.TooManyTries
	switch {
	case errors.As(err, &wait):
		f.fault("", "%s.", capital(wait.Error()))
		return v.again("login", "Log in", view)
	case errors.Is(err, desk.ErrWrongLogin):
		f.fault("password", "The name or the password is wrong.")
		return v.again("login", "Log in", view)
	case err != nil:
		return err
	}
	// A browser that logs in as somebody else ends the login it had.
	if v.secret != "" {
		if err := v.desk().LogOut(v.ctx(), v.secret); err != nil {
			slog.Warn("an earlier login could not be ended", "error", err)
		}
	}
	http.SetCookie(v.w, v.cookie(loginCookie, secret, loginSeconds))
	return v.resume(f.Get("next"), view.Kept)
}

// resume goes where somebody wanted to go before the login. A form is sent only
// when they press the button again: much may have happened since.
func (v *visit) resume(next, kept string) error {
	if !local(next) {
		next = "/now"
	}
	if kept == "" {
		return v.to(next)
	}
	values, err := url.ParseQuery(kept)
	if err != nil {
		return &problem{http.StatusBadRequest, "That could not be read", "You are logged in, but what you had typed came damaged. Go back in your browser to see it."}
	}
	return v.write(http.StatusOK, "again", sheet{Title: "Send what you typed?", Now: v.now, Clinic: v.clinic.Name, Data: struct {
		Path   string
		Values url.Values
	}{next, values}})
}

func logout(v *visit) error {
	if err := v.desk().LogOut(v.ctx(), v.secret); err != nil {
		return err
	}
	http.SetCookie(v.w, v.cookie(loginCookie, "", -1))
	return v.to("/login")
}

// address is where the browser is, for counting wrong tries and for the audit
// trail. Only without TLS, where nobody but this machine can come, a proxy on it
// is believed: the last address in its X-Forwarded-For is its own word, those
// before it anybody's.
func address(r *http.Request) string {
	host := bareHost(r.RemoteAddr)
	if ip := net.ParseIP(host); r.TLS == nil && ip != nil && ip.IsLoopback() {
		all := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
		if from := net.ParseIP(bareHost(strings.TrimSpace(all[len(all)-1]))); from != nil {
			return from.String()
		}
	}
	return host
}

// bareHost is an address without its port, if it has one.
func bareHost(address string) string {
	if host, _, err := net.SplitHostPort(address); err == nil {
		return host
	}
	return address
}
