package desk_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// After a backup was put back nobody is freed by what the desk does not know,
// until every station's log has come in.
func TestBackupPutBackFreesNobody(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := newClinic(t)
		bay, other := c.enrolled("Bay 3"), c.enrolled("Bay 4")
		bay.upload()
		atWork(t, c)
		assert.False(t, other.state().Partial)
		require.NoError(t, c.Restored(ctx, console, "/backups/monday.db"))
		assert.True(t, other.state().Partial)
		needs := c.needs()
		require.Len(t, needs, 1)
		assert.Equal(t, store.Restored, needs[0].Reason)
		assert.Contains(t, needs[0].Symptom, "put back from monday.db, which ends on 2 March 2026, 10:00")

		bay.add(coach.Entry{Kind: coach.EntryStop, Tag: "K4", Session: "s1"})
		bay.upload()
		bay.says(link.Status{})
		time.Sleep(time.Minute)
		bay.says(link.Status{Unsent: 3})
		assert.Contains(t, c.needs()[1].Symptom, "not heard yet: Bay 3, Bay 4")
		bay.says(link.Status{})
		time.Sleep(time.Minute)
		assert.Contains(t, c.needs()[1].Symptom, "not heard yet: Bay 4")
		assert.True(t, other.state().Partial)
		other.upload()
		time.Sleep(time.Minute)
		other.says(link.Status{})
		time.Sleep(time.Minute)
		for _, n := range c.needs() {
			assert.NotEqual(t, store.Restored, n.Reason, "it closes itself")
		}
		assert.False(t, other.state().Partial)
		assert.Len(t, other.state().Holds, 1)
	})
}

// A code that a station took counts, also where the desk no longer knows of it.
func TestTelephoneCodeIsNotGivenOnceMore(t *testing.T) {
	c := newClinic(t)
	home := c.enrolled("Home of K4")
	home.add(coach.Entry{Kind: coach.EntryStop, Tag: "K4", Session: "s1"},
		coach.Entry{Kind: coach.EntryClear, Tag: "K4", Data: &coach.ClearData{By: coach.ByTelephone, Counter: 3}},
		coach.Entry{Kind: coach.EntryStop, Tag: "K4", Session: "s2"})
	home.upload()
	presses, err := c.TelephoneCode(ctx, okafor, home.state().Holds[0].ID, "Home of K4", "talked to them")
	require.NoError(t, err)
	st, err := c.store.StationByName(ctx, "Home of K4")
	require.NoError(t, err)
	want := link.TelephoneCode(st.Secret, "K4", 4)
	assert.Equal(t, want[:], presses)
}

// However long ago a hold began, its own station hears when it was cleared.
func TestOldHoldIsClearedAtItsOwnStation(t *testing.T) {
	c := newClinic(t)
	bay := c.enrolled("Bay 3")
	bay.add(coach.Entry{Kind: coach.EntryStop, Tag: "K4", Session: "s1"})
	require.NoError(t, bay.urgent())
	c.pass(91 * 24 * time.Hour)
	h := bay.state().Holds[0]
	require.NotNil(t, h.Own)
	_, err := c.Clear(ctx, okafor, h.ID, "back from hospital")
	require.NoError(t, err)
	require.Len(t, bay.state().Clears, 1)
	assert.Equal(t, h.Own, bay.state().Clears[0].Own)
	c.pass(91 * 24 * time.Hour)
	assert.Empty(t, bay.state().Clears)
}
