package desk_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

const words = "three plain words here"

// staffed is a clinic with two accounts.
func staffed(t *testing.T) *clinic {
	c := newClinic(t)
	for name, role := range map[string]store.Role{"R. Okafor": store.Supervisor, "P. Adair": store.Admin} {
		_, err := c.AddStaff(ctx, console, name, role, words)
		require.NoError(t, err)
	}
	return c
}

func TestLoginLastsUntilItIsIdleOrOld(t *testing.T) {
	c := staffed(t)
	secret, who, err := c.LogIn(ctx, " r. okafor ", words, "10.0.0.7")
	require.NoError(t, err)
	assert.Equal(t, "R. Okafor", who.Name)
	assert.Equal(t, store.Supervisor, who.Role)
	for range 23 { // used every half hour less a minute, for eleven hours and more
		c.pass(desk.IdleLogin - time.Minute)
		got, err := c.LoggedIn(ctx, secret)
		require.NoError(t, err)
		assert.Equal(t, who, got)
	}
	c.pass(desk.IdleLogin - time.Minute)
	_, err = c.LoggedIn(ctx, secret)
	require.NoError(t, err)
	c.pass(desk.IdleLogin - time.Minute)
	_, err = c.LoggedIn(ctx, secret)
	assert.ErrorIs(t, err, desk.ErrNotLoggedIn, "twelve hours are over")

	secret, _, err = c.LogIn(ctx, "R. Okafor", words, "10.0.0.7")
	require.NoError(t, err)
	c.pass(desk.IdleLogin)
	_, err = c.LoggedIn(ctx, secret)
	assert.ErrorIs(t, err, desk.ErrNotLoggedIn, "idle for half an hour")

	secret, _, err = c.LogIn(ctx, "R. Okafor", words, "10.0.0.7")
	require.NoError(t, err)
	require.NoError(t, c.LogOut(ctx, secret))
	_, err = c.LoggedIn(ctx, secret)
	assert.ErrorIs(t, err, desk.ErrNotLoggedIn)
	_, err = c.LoggedIn(ctx, "made up")
	assert.ErrorIs(t, err, desk.ErrNotLoggedIn)
}

func TestGuessingIsSlowedDown(t *testing.T) {
	c := staffed(t)
	for range 5 {
		_, _, err := c.LogIn(ctx, "R. Okafor", "a wrong password", "10.0.0.7")
		require.ErrorIs(t, err, desk.ErrWrongLogin)
	}
	_, _, err := c.LogIn(ctx, "r. OKAFOR", words, "10.0.0.7")
	var wait desk.TooManyTries
	require.ErrorAs(t, err, &wait, "the right password makes no difference by now")
	assert.Positive(t, wait.Wait)
	_, _, err = c.LogIn(ctx, "R. Okafor", words, "10.0.0.8")
	require.NoError(t, err, "nobody keeps the owner of a name out from elsewhere")
	_, _, err = c.LogIn(ctx, "P. Adair", words, "10.0.0.7")
	require.NoError(t, err, "another name is not shut out")
	c.pass(wait.Wait)
	_, _, err = c.LogIn(ctx, "R. Okafor", words, "10.0.0.7")
	require.NoError(t, err)

	for n := range 30 { // one name, many addresses
		_, _, err = c.LogIn(ctx, "R. Okafor", "", string(rune('a'+n)))
		require.ErrorIs(t, err, desk.ErrWrongLogin)
	}
	_, _, err = c.LogIn(ctx, "R. Okafor", words, "10.0.0.8")
	require.ErrorAs(t, err, &wait)
	c.pass(wait.Wait)

	for n := range 20 { // one address, many names
		_, _, err = c.LogIn(ctx, string(rune('a'+n)), "", "10.0.0.9")
		require.ErrorIs(t, err, desk.ErrWrongLogin)
	}
	_, _, err = c.LogIn(ctx, "P. Adair", words, "10.0.0.9")
	assert.ErrorAs(t, err, &wait)

	lines, err := c.Audit(ctx, adair, store.AuditFilter{Action: "log in, refused"})
	require.NoError(t, err)
	assert.Len(t, lines, 55)
}

func TestAccountsEndTheirLogins(t *testing.T) {
	c := staffed(t)
	in := func(password string) string {
		secret, _, err := c.LogIn(ctx, "R. Okafor", password, "10.0.0.7")
		require.NoError(t, err)
		return secret
	}
	out := func(secret string) {
		_, err := c.LoggedIn(ctx, secret)
		assert.ErrorIs(t, err, desk.ErrNotLoggedIn)
	}
	secret := in(words)
	who, err := c.LoggedIn(ctx, secret)
	require.NoError(t, err)
	refused(t, c.ChangePassword(ctx, who, "wrong", "four plain words here"), "not the present password")
	refused(t, c.ChangePassword(ctx, who, words, "short"), "from 12 to 256")
	require.NoError(t, c.ChangePassword(ctx, who, words, "four plain words here"))
	out(secret)
	secret = in("four plain words here")
	require.NoError(t, c.SetRole(ctx, adair, "R. Okafor", store.Assistant))
	out(secret)
	secret = in("four plain words here")
	require.NoError(t, c.SetDisabled(ctx, adair, "R. Okafor", true))
	out(secret)
	_, _, err = c.LogIn(ctx, "R. Okafor", "four plain words here", "10.0.0.7")
	assert.ErrorIs(t, err, desk.ErrWrongLogin)
	refused(t, c.SetRole(ctx, adair, "P. Adair", store.Assistant), "only admin")
	all, err := c.Staff(ctx, adair)
	require.NoError(t, err)
	for _, m := range all {
		assert.Empty(t, m.Password)
	}
}
