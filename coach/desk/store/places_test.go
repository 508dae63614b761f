package store_test

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

func TestStations(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		v, err := s.AddStation(ctx, store.Station{Name: "Bay 3", Place: "the place by the window", Key: "not yet"})
		require.NoError(t, err)
		_, err = s.AddStation(ctx, store.Station{Name: "bay 3"})
		require.ErrorIs(t, err, store.ErrTaken)
		_, err = s.StationByKey(ctx, "")
		require.ErrorIs(t, err, store.ErrNotFound, "who has no key is not found by it")
		require.NoError(t, s.Enrol(ctx, v.ID, "ab12", []byte{0, 1, 255}, noon))
		other := addStation(t, s, "Bay 1")
		require.ErrorIs(t, s.Enrol(ctx, other, "ab12", nil, noon), store.ErrTaken)
		for want := range int64(3) {
			n, err := s.NextTelephoneCode(ctx, v.ID)
			require.NoError(t, err)
			assert.Equal(t, want, n)
		}
		require.NoError(t, s.SawStation(ctx, v.ID, noon, `{"lamp":"on"}`))
		require.NoError(t, s.SawStation(ctx, v.ID, noon.Add(time.Minute), ""))
		require.NoError(t, s.Revoke(ctx, v.ID, noon.Add(time.Hour)))
		require.NoError(t, s.Revoke(ctx, v.ID, noon.Add(2*time.Hour)))
		require.NoError(t, s.RenameStation(ctx, v.ID, "Bay 3 b", "the door"))
		require.ErrorIs(t, s.RenameStation(ctx, v.ID, "BAY 1", ""), store.ErrTaken)
		got, err := s.StationByKey(ctx, "ab12")
		require.NoError(t, err)
		enrolled, revoked, seen := noon, noon.Add(time.Hour), noon.Add(time.Minute)
		assert.Equal(t, store.Station{ID: v.ID, Name: "Bay 3 b", Place: "the door", Key: "ab12", Secret: []byte{0, 1, 255}, Codes: 3,
			Enrolled: &enrolled, Revoked: &revoked, Seen: &seen, Status: `{"lamp":"on"}`}, got)
		require.NoError(t, s.Enrol(ctx, v.ID, "cd34", []byte{2}, noon))
		_, err = s.StationByKey(ctx, "ab12")
		require.ErrorIs(t, err, store.ErrNotFound, "its old key no longer lets it in")
		got, err = s.Station(ctx, v.ID)
		require.NoError(t, err)
		assert.Nil(t, got.Revoked)
		assert.Zero(t, got.Codes, "a new secret begins anew")
		all, err := s.Stations(ctx)
		require.NoError(t, err)
		assert.Len(t, all, 2)
	})
}

func TestEnrolmentCodes(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx, station := t.Context(), addStation(t, s, "Bay 3")
		add := func() store.EnrolmentCode {
			c, err := s.AddCode(ctx, store.EnrolmentCode{Station: station, Code: "ABCD", Expires: noon.Add(10 * time.Minute)})
			require.NoError(t, err)
			return c
		}
		add()
		code := add()
		open, err := s.OpenCodes(ctx, noon)
		require.NoError(t, err)
		assert.Equal(t, []store.EnrolmentCode{code}, open, "a new code ends the one before")
		late, err := s.OpenCodes(ctx, noon.Add(10*time.Minute))
		require.NoError(t, err)
		assert.Empty(t, late)
		require.ErrorIs(t, s.UseCode(ctx, code.ID, noon.Add(10*time.Minute)), store.ErrState, "expired")

		var used atomic.Int32
		var all sync.WaitGroup
		for range 8 { // at once: one succeeds
			all.Go(func() {
				if s.UseCode(ctx, code.ID, noon) == nil {
					used.Add(1)
				}
			})
		}
		all.Wait()
		assert.EqualValues(t, 1, used.Load())

		code = add()
		for want := 1; want <= store.MostTries; want++ {
			tries, err := s.WrongTry(ctx, code.ID)
			require.NoError(t, err)
			assert.Equal(t, want, tries)
		}
		open, err = s.OpenCodes(ctx, noon)
		require.NoError(t, err)
		assert.Empty(t, open)
		require.ErrorIs(t, s.UseCode(ctx, code.ID, noon), store.ErrState, "the sixth try, right or wrong")
	})
}

func TestStationPlans(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx, a, b := t.Context(), addStation(t, s, "Bay 1"), addStation(t, s, "Bay 2")
		_, err := s.PlanFor(ctx, a)
		require.ErrorIs(t, err, store.ErrNotFound)
		sent := func(station int64, p store.StationPlan) store.StationPlan {
			p.Station, p.Sent, p.SentAt, p.Text, p.Tags = station, "N. Adeyemi", noon, "plan", []string{"K4", "B2"}
			p, err := s.SendPlan(ctx, p)
			require.NoError(t, err)
			return p
		}
		sent(a, store.StationPlan{Day: "2026-03-02"})
		plan := sent(a, store.StationPlan{Day: "2026-03-02", Until: "2026-03-05"})
		assert.EqualValues(t, 2, plan.Version)
		sent(b, store.StationPlan{Day: "2026-03-03"})
		require.NoError(t, s.PlanDelivered(ctx, plan.ID, noon.Add(time.Second)))
		require.NoError(t, s.PlanDelivered(ctx, plan.ID, noon.Add(time.Hour)))
		require.NoError(t, s.PlanRefused(ctx, plan.ID, "line 3"))
		require.NoError(t, s.PlanTaken(ctx, plan.ID, noon.Add(time.Minute)))
		got, err := s.PlanFor(ctx, a)
		require.NoError(t, err)
		delivered, taken := noon.Add(time.Second), noon.Add(time.Minute)
		plan.DeliveredAt, plan.TakenAt = &delivered, &taken
		assert.Equal(t, plan, got, "the first time of each stays")
		on, err := s.StationPlansOn(ctx, "2026-03-02")
		require.NoError(t, err)
		assert.Equal(t, []store.StationPlan{plan}, on)
		on, err = s.StationPlansOn(ctx, "2026-03-03")
		require.NoError(t, err)
		assert.Len(t, on, 2)
		all, err := s.StationPlansOf(ctx, a)
		require.NoError(t, err)
		assert.Len(t, all, 2)

		require.NoError(t, s.KnowPlan(ctx, a, 9, noon))
		for _, day := range []coach.Day{"2026-03-02", "2031-01-01"} {
			on, err = s.StationPlansOn(ctx, day)
			require.NoError(t, err)
			require.NotEmpty(t, on)
			assert.Equal(t, int64(9), on[0].Version, "the newest, whatever day it is")
			assert.True(t, on[0].Unknown())
		}
		assert.EqualValues(t, 10, sent(a, store.StationPlan{Day: "2026-03-02"}).Version)
		assert.EqualValues(t, 1011, sent(a, store.StationPlan{Day: "2026-03-02", Version: 1000}).Version)
	})
}

func TestClinic(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		c, err := s.AddClass(ctx, store.Class{Day: "2026-03-02", Text: "class", By: "N. Adeyemi", At: noon})
		require.NoError(t, err)
		require.NoError(t, s.SetTimetable(ctx, c.ID, "{}"))
		on, err := s.Classes(ctx, "2026-03-02", "2026-03-02")
		require.NoError(t, err)
		c.Timetable = "{}"
		assert.Equal(t, []store.Class{c}, on)
		_, err = s.Protocol(ctx)
		require.ErrorIs(t, err, store.ErrNotFound)
		for _, text := range []string{"one", "two"} {
			_, err = s.AddProtocol(ctx, store.Protocol{Text: text, By: "admin", At: noon})
			require.NoError(t, err)
		}
		p, err := s.Protocol(ctx)
		require.NoError(t, err)
		assert.Equal(t, store.Protocol{Version: 2, Text: "two", By: "admin", At: noon}, p)

		zone, err := s.Setting(ctx, "zone")
		require.NoError(t, err)
		assert.Empty(t, zone)
		require.NoError(t, s.SetSetting(ctx, "zone", "Europe/Dublin"))
		require.NoError(t, s.SetSetting(ctx, "zone", "Europe/London"))
		require.NoError(t, s.SetSetting(ctx, "owned", "1, 2 kg"))
		all, err := s.Settings(ctx)
		require.NoError(t, err)
		assert.Equal(t, map[string]string{"zone": "Europe/London", "owned": "1, 2 kg"}, all)
	})
}
