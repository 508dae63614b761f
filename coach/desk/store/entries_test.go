package store_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

func TestEntriesByWhatIsAsked(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		tp, a, b := newTape(t), addStation(t, s, "Bay 1"), addStation(t, s, "Bay 2")
		tp.session("s1", "K4", 3) // at 1 to 6 seconds past noon
		tp.session("s2", "B2", 3) // at 7 to 12
		tp.write(coach.Entry{Kind: coach.EntryFault, Data: coach.FaultData{Part: "lamp"}})
		tp.write(coach.Entry{Kind: "clear", Tag: "K4"})
		other := newTape(t)
		other.session("s3", "K4", 3)
		send(t, s, a, tp.all...)
		send(t, s, b, other.all...)
		at := func(n int) time.Time { return noon.Add(time.Duration(n) * time.Second) }
		for name, c := range map[string]struct {
			of   store.EntryFilter
			want int
		}{
			"all":                          {store.EntryFilter{}, 22},
			"a tag":                        {store.EntryFilter{Tag: "K4"}, 13},
			"a session":                    {store.EntryFilter{Session: "s2"}, 6},
			"a session of another tag":     {store.EntryFilter{Session: "s2", Tag: "K4"}, 0},
			"a station":                    {store.EntryFilter{Station: b}, 7},
			"kinds":                        {store.EntryFilter{Tag: "K4", Kinds: []coach.EntryKind{coach.EntryRep, coach.EntrySetStart}}, 8},
			"all but kinds":                {store.EntryFilter{Tag: "K4", Without: []coach.EntryKind{coach.EntryRep, coach.EntrySetStart}}, 5},
			"from a time":                  {store.EntryFilter{Station: a, Since: at(7)}, 8},
			"before a time":                {store.EntryFilter{Station: a, Until: at(7)}, 7},
			"a tag between":                {store.EntryFilter{Tag: "K4", Since: at(2), Until: at(4)}, 4},
			"after a number of an epoch":   {store.EntryFilter{Station: a, Epoch: tp.at.Epoch, After: 13}, 2},
			"the first":                    {store.EntryFilter{Tag: "K4", Limit: 5}, 5},
			"a day on which there is none": {store.EntryFilter{Since: at(30 * 86400)}, 0},
		} {
			assert.Len(t, kept(t, s, c.of), c.want, name)
		}
		last := noon.Add(-time.Hour)
		for _, e := range kept(t, s, store.EntryFilter{}) {
			assert.False(t, e.At.Before(last), "in the order of time")
			last = e.At
		}
		require.NoError(t, s.Together(ctx, func(ctx context.Context) error { // also inside a change
			assert.Len(t, keptIn(t, ctx, s, store.EntryFilter{Tag: "K4"}), 13)
			return nil
		}))
		parsed, err := kept(t, s, store.EntryFilter{Session: "s3"})[5].Entry()
		require.NoError(t, err)
		assert.Equal(t, &coach.SessionEndData{Outcome: coach.Completed}, parsed.Data)
		for range s.Entries(ctx, store.EntryFilter{}) {
			break // a loop may end early
		}
		ended, end := context.WithCancel(ctx)
		end()
		for _, err := range s.Entries(ended, store.EntryFilter{}) {
			require.Error(t, err)
		}
	})
}

func TestSessionsAreKeptUp(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 3)
		tp.write(coach.Entry{Session: "s2", Kind: coach.EntrySessionStart, Data: coach.SessionStartData{Part: coach.First, Plan: "p2", Resumes: "s1"}})
		for n, r := range tp.all { // one at a time
			send(t, s, station, r)
			if n == 3 {
				v, err := s.Session(ctx, "s1")
				require.NoError(t, err)
				assert.Empty(t, v.Outcome, "it goes on")
			}
		}
		v, err := s.Session(ctx, "s1")
		require.NoError(t, err)
		assert.Equal(t, store.Session{ID: "s1", Station: station, Epoch: tp.at.Epoch, Tag: "K4", First: 2, Last: 7, Entries: 6,
			Begun: noon.Add(time.Second), Newest: noon.Add(6 * time.Second), Part: coach.Whole, Plan: "plan", Outcome: coach.Completed}, v)
		tp.write(coach.Entry{Session: "s2", Tag: "K4", Kind: coach.EntryStop})
		send(t, s, station, tp.all...)
		all, err := s.Sessions(ctx, store.SessionFilter{Tag: "K4", Station: station, Since: noon, Until: noon.Add(time.Hour)})
		require.NoError(t, err)
		require.Len(t, all, 2)
		assert.Equal(t, "s2", all[1].ID, "known by the tag of a later entry")
		assert.True(t, all[1].Stopped)
		assert.Equal(t, coach.First, all[1].Part)
		assert.Equal(t, "s1", all[1].Resumes)
		newest, err := s.Sessions(ctx, store.SessionFilter{Limit: 1})
		require.NoError(t, err)
		assert.Equal(t, "s2", newest[0].ID)
		_, err = s.Session(ctx, "never")
		require.ErrorIs(t, err, store.ErrNotFound)
	})
}

// After a power cut the station names the session in a fault of its next epoch.
func TestAFaultAboutAnEarlierSessionMakesNone(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 3)
		tp.boots()
		tp.starts()
		tp.write(coach.Entry{Session: "s1", Tag: "K4", Kind: coach.EntryFault, Data: coach.FaultData{Part: coach.PartPower}})
		tp.write(coach.Entry{Session: "s2", Tag: "K4", Kind: coach.EntryFault, Data: coach.FaultData{Part: "red button"}})
		send(t, s, station, tp.all...)
		all, err := s.Sessions(t.Context(), store.SessionFilter{Tag: "K4"})
		require.NoError(t, err)
		require.Len(t, all, 2)
		assert.Equal(t, "s1", all[0].ID)
		assert.Equal(t, int64(6), all[0].Entries)
		assert.Equal(t, "s2", all[1].ID, "one whose other entries are lost")
	})
}

func TestMovedSaysWhatIsNew(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		a, b := newTape(t), newTape(t)
		one, two := addStation(t, s, "Bay 1"), addStation(t, s, "Bay 2")
		send(t, s, one, a.all...)
		send(t, s, two, b.all...)
		seen, err := s.Version(ctx)
		require.NoError(t, err)
		moved, err := s.Moved(ctx, seen)
		require.NoError(t, err)
		assert.Empty(t, moved)
		b.session("s1", "K4", 1)
		send(t, s, two, b.all...)
		send(t, s, one, a.all...) // nothing new
		moved, err = s.Moved(ctx, seen)
		require.NoError(t, err)
		require.Len(t, moved, 1)
		assert.Equal(t, two, moved[0].Station)
		assert.Equal(t, b.at.Seq, moved[0].Mark)
		assert.Equal(t, b.boot, moved[0].Boot)
	})
}
