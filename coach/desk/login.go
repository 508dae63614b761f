package desk

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"evenbell/coach/desk/store"
)

// How long a login lasts without anything being done, and at most.
const (
	IdleLogin     = 30 * time.Minute
	AbsoluteLogin = 12 * time.Hour
)

// touchEvery is how often the last use of a login is written down: a page asks
// far more often than that matters.
const touchEvery = time.Minute

// The words of the audit trail for what is no action of the table.
const (
	auditLogin       = "log in"
	auditLoginFailed = "log in, refused"
	auditLogout      = "log out"
)

// guessing lets few passwords be tried at once: each takes 64 MB.
var guessing = make(chan struct{}, 2)

// nobody is a password that nobody has, so that an unknown name takes as long
// as a wrong password.
var nobody = sync.OnceValue(func() string {
	s, err := encodePassword("nobody has this password", strings.NewReader("0123456789abcdef"))
	if err != nil {
		panic(err)
	}
	return s
})

// LogIn gives the secret for the cookie of a browser, after the right name and
// password. address is where the browser is, for counting wrong tries:
// ErrWrongLogin, or TooManyTries. Both outcomes are audited.
func (d *Desk) LogIn(ctx context.Context, name, password, address string) (secret string, who Actor, err error) {
	name = strings.TrimSpace(name)
	limits := loginLimits(name, address)
	if wait := d.tries.wait(limits, d.moment()); wait > 0 {
		return "", Actor{}, TooManyTries{wait}
	}
	m, err := d.store.StaffByName(ctx, name)
	known := err == nil && !m.Disabled
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return "", Actor{}, fmt.Errorf("logging in: %w", err)
	}
	right, err := d.guess(ctx, m, known, password)
	if err != nil {
		return "", Actor{}, err
	}
	if !right {
		return "", Actor{}, errors.Join(ErrWrongLogin, d.auditAs(ctx, "", auditLoginFailed, shortened(name), "from "+address))
	}
	d.tries.right(limits)
	who = Actor{ID: m.ID, Name: m.Name, Role: m.Role}
	secret, err = d.newLogin(ctx, who, address)
	return secret, who, err
}

// guess tries a password, whether the name is known or not.
func (d *Desk) guess(ctx context.Context, m store.Staff, known bool, password string) (bool, error) {
	select {
	case guessing <- struct{}{}:
	case <-ctx.Done():
		return false, ctx.Err()
	}
	defer func() { <-guessing }()
	if len(password) > longestPassword {
		password = ""
	}
	encoded := nobody()
	if known {
		encoded = m.Password
	}
	return passwordIs(encoded, password) && known, nil
}

func (d *Desk) newLogin(ctx context.Context, who Actor, address string) (string, error) {
	raw := make([]byte, 32)
	if _, err := io.ReadFull(d.random, raw); err != nil {
		return "", fmt.Errorf("logging in: %w", err)
	}
	secret, now := base64.RawURLEncoding.EncodeToString(raw), d.Time()
	err := d.store.Together(ctx, func(ctx context.Context) error {
		err := d.store.AddLogin(ctx, store.Login{Hash: loginHash(secret), Staff: who.ID, Created: now, Seen: now})
		if err != nil {
			return err
		}
		return d.auditAs(ctx, who.Name, auditLogin, "", "from "+address)
	})
	if err != nil {
		return "", fmt.Errorf("logging in: %w", err)
	}
	return secret, nil
}

// loginHash is what the store has of a cookie's secret: who reads the store
// can't log in with it.
func loginHash(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// shortened keeps what was typed as a name from filling the audit trail.
func shortened(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// LoggedIn is who a cookie's secret belongs to, and counts as use of the login;
// ErrNotLoggedIn where it is nobody's, has been idle for half an hour, or is
// twelve hours old.
func (d *Desk) LoggedIn(ctx context.Context, secret string) (Actor, error) {
	l, who, err := d.loginOf(ctx, secret)
	if err != nil {
		return Actor{}, err
	}
	if now := d.Time(); now.Sub(l.Seen) >= touchEvery {
		if err := d.store.TouchLogin(ctx, l.Hash, now); err != nil {
			return Actor{}, fmt.Errorf("noting a login: %w", err)
		}
	}
	return who, nil
}

// StillLoggedIn is LoggedIn without counting as use: for a page that merely
// stands open.
func (d *Desk) StillLoggedIn(ctx context.Context, secret string) (Actor, error) {
	_, who, err := d.loginOf(ctx, secret)
	return who, err
}

// loginOf finds the login of a secret, and whose it is.
func (d *Desk) loginOf(ctx context.Context, secret string) (store.Login, Actor, error) {
	if secret == "" {
		return store.Login{}, Actor{}, ErrNotLoggedIn
	}
	hash, now := loginHash(secret), d.Time()
	l, err := d.store.Login(ctx, hash)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return l, Actor{}, ErrNotLoggedIn
	case err != nil:
		return l, Actor{}, fmt.Errorf("looking for a login: %w", err)
	case now.Sub(l.Seen) >= IdleLogin || now.Sub(l.Created) >= AbsoluteLogin || l.Seen.Sub(now) > clocksApart:
		// One that was used in the future is of a clock that was wrong.
		return l, Actor{}, errors.Join(ErrNotLoggedIn, d.store.EndLogin(ctx, hash))
	}
	m, err := d.store.Staff(ctx, l.Staff)
	switch {
	case errors.Is(err, store.ErrNotFound) || err == nil && m.Disabled:
		return l, Actor{}, ErrNotLoggedIn
	case err != nil:
		return l, Actor{}, fmt.Errorf("looking for a login: %w", err)
	}
	return l, Actor{ID: m.ID, Name: m.Name, Role: m.Role}, nil
}

// LogOut ends a browser's login.
func (d *Desk) LogOut(ctx context.Context, secret string) error {
	who, err := d.LoggedIn(ctx, secret)
	if err != nil {
		return err
	}
	return d.store.Together(ctx, func(ctx context.Context) error {
		if err := d.store.EndLogin(ctx, loginHash(secret)); err != nil {
			return err
		}
		return d.auditAs(ctx, who.Name, auditLogout, "", "")
	})
}

// ChangePassword changes the actor's own, who must know the old one; all their
// logins end.
func (d *Desk) ChangePassword(ctx context.Context, who Actor, old, new string) error {
	if err := who.check(ChangePassword); err != nil {
		return err
	}
	m, err := d.store.Staff(ctx, who.ID)
	if err != nil {
		return fmt.Errorf("changing a password: %w", err)
	}
	limits := loginLimits(m.Name, fmt.Sprint("the page of account ", m.ID))
	if wait := d.tries.wait(limits, d.moment()); wait > 0 {
		return TooManyTries{wait}
	}
	right, err := d.guess(ctx, m, !m.Disabled, old)
	if err != nil {
		return err
	}
	if !right {
		return refuse("old", "is not the present password")
	}
	d.tries.right(limits)
	return d.savePassword(ctx, who, ChangePassword, m, new)
}
