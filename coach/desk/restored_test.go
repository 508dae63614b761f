package desk_test

import (
	"log/slog"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
	"evenbell/coach/screening"
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

// A backup knows nothing of the plans sent since, and a station may still have
// one: it keeps that, and an older one does not take its place. The number of a
// newer one is not used again, and staff are told and send a plan anew.
func TestNoOlderPlanComesBackWithABackup(t *testing.T) {
	c := newClinic(t)
	c.patient("K4", store.Record{})
	c.approved("K4", curl)
	bay, other, third := c.enrolled("Bay 3"), c.enrolled("Bay 4"), c.enrolled("Bay 5")
	load := func(station string) store.StationPlan {
		today, err := c.Today(ctx)
		require.NoError(t, err)
		sp, err := c.Load(ctx, okafor, station, today, "K4")
		require.NoError(t, err)
		return sp
	}
	require.Equal(t, int64(1), load("Bay 3").Version)
	require.Equal(t, int64(1), load("Bay 4").Version)
	require.Equal(t, int64(1), load("Bay 5").Version)
	for _, d := range []*device{bay, other, third} {
		d.says(link.Status{Plan: link.PlanStatus{Delivered: 1, Taken: 1}})
		require.Equal(t, int64(1), d.state().Plan)
	}
	backup := filepath.Join(t.TempDir(), "backup.db")
	require.NoError(t, c.Backup(ctx, console, backup))
	require.Equal(t, int64(2), load("Bay 3").Version)
	require.Equal(t, int64(2), load("Bay 5").Version)

	c.restored(backup)
	kept := func(d *device) bool { s := d.state(); return s.KeepPlan && s.Plan == 0 && s.PlanHash == "" }
	assert.True(t, kept(bay), "nobody knows yet what it has")
	assert.True(t, kept(other))
	other.says(link.Status{Plan: link.PlanStatus{Delivered: 1, Taken: 1}})
	assert.Equal(t, int64(1), other.state().Plan, "it has what this desk knows")
	assert.False(t, other.state().KeepPlan)
	require.Equal(t, int64(2), load("Bay 4").Version, "and goes on from there")

	bay.says(link.Status{Plan: link.PlanStatus{Delivered: 2, Taken: 2}})
	assert.True(t, kept(bay), "its plan is newer than any that is known here")
	unknown := func() (out []desk.Need) {
		for _, n := range c.needs() {
			if n.Reason == store.PlanUnknown {
				out = append(out, n)
			}
		}
		return out
	}
	require.Len(t, unknown(), 1)
	assert.Equal(t, "Bay 3", unknown()[0].StationName)
	assert.Contains(t, unknown()[0].Symptom, "it has plan 2, and this desk sent none after 1")
	bay.says(link.Status{Plan: link.PlanStatus{Delivered: 2, Taken: 2}})
	require.Len(t, unknown(), 1, "told once")
	c.pass(7 * 24 * time.Hour)
	assert.True(t, kept(bay), "nor on another day")
	well := false
	_, err := c.Screen(ctx, lind, "K4", screening.Today{Well: &well})
	require.NoError(t, err)
	require.Len(t, bay.state().Holds, 1, "the day's screening holds, whomever the plan names")
	assert.Equal(t, "K4", bay.state().Holds[0].Tag)
	c.pass(-7 * 24 * time.Hour)

	sent := load("Bay 3")
	assert.Equal(t, int64(3), sent.Version, "a number is not used again")
	s := bay.state()
	assert.Equal(t, int64(3), s.Plan)
	assert.False(t, s.KeepPlan)
	bay.says(link.Status{Plan: link.PlanStatus{Delivered: 3, Taken: 3}})
	assert.Empty(t, unknown(), "it closes itself")

	// One that was not heard since is sent a plan with a number that can't have
	// been used, and takes it whatever it has.
	sent = load("Bay 5")
	assert.Greater(t, sent.Version, int64(1000))
	assert.Equal(t, sent.Version, third.state().Plan)
	third.says(link.Status{Plan: link.PlanStatus{Delivered: 2, Taken: 2}})
	assert.Equal(t, sent.Version, third.state().Plan)
	assert.Empty(t, unknown())
	assert.Equal(t, sent.Version+1, load("Bay 5").Version)
}

// restored puts a backup in the place of the store, and begins the desk anew.
func (c *clinic) restored(backup string) {
	c.pass(time.Minute)
	dir := c.t.TempDir()
	_, err := store.Restore(ctx, dir, backup)
	require.NoError(c.t, err)
	s, err := store.Open(ctx, dir)
	require.NoError(c.t, err)
	c.t.Cleanup(func() { require.NoError(c.t, s.Close()) })
	c.store = s
	c.Desk = desk.New(desk.Config{Store: s, Now: c.time, Random: rand.NewChaCha8([32]byte{2}), Length: lengths, Log: slog.New(slog.DiscardHandler), Fingerprint: "the desk's key"})
	c.link = c.Link()
	require.NoError(c.t, c.Restored(ctx, console, backup))
}
