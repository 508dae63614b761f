package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

// contactAt is a contact of a tape's boot, at which its clock stood at mono.
func contactAt(station int64, tp *tape, mono int64, at time.Time, within time.Duration) *store.Contact {
	return &store.Contact{Station: station, Boot: tp.boot, MonoNS: mono, At: at, Within: within}
}

func TestAnOwnWallTimeIsTaken(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 3)
		done, err := s.Append(t.Context(), store.Batch{Station: station, Records: tp.all, Received: noon.Add(time.Hour),
			Contact: contactAt(station, tp, tp.mono, noon.Add(9*time.Hour), time.Second)})
		require.NoError(t, err)
		assert.Equal(t, noon.Add(time.Second), done.Added[1].At)
		v, err := s.Session(t.Context(), "s1")
		require.NoError(t, err)
		assert.Equal(t, noon.Add(time.Second), v.Begun)
		assert.Zero(t, v.Within)
	})
}

func TestABootWithoutAClockIsDatedByItsContacts(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.trusted, tp.mono = false, 0
		from := len(tp.all)
		tp.session("s1", "K4", 3) // at 1, 2, … 6 seconds of the boot
		tp.mono = 20_000 * 1e9    // five hours later
		tp.session("s2", "K4", 3)
		done, err := s.Append(ctx, store.Batch{Station: station, Records: tp.all, Received: noon.Add(24 * time.Hour), Carried: true})
		require.NoError(t, err)
		for _, e := range done.Added[from:] {
			assert.True(t, e.At.IsZero(), "carried by stick: nobody can tell")
			assert.True(t, e.Carried)
		}
		v, err := s.Session(ctx, "s1")
		require.NoError(t, err)
		assert.True(t, v.Begun.IsZero())

		// The first contact on that boot, at 10,000 s: noon.
		require.NoError(t, s.SaveContact(ctx, *contactAt(station, tp, 10_000*1e9, noon, 40*time.Millisecond)))
		entries := kept(t, s, store.EntryFilter{Session: "s1"})
		assert.Equal(t, noon.Add(-9999*time.Second), entries[0].At)
		assert.Equal(t, 40*time.Millisecond+999*time.Millisecond, entries[0].Within, "a crystal drifts")
		entries = kept(t, s, store.EntryFilter{Session: "s2"})
		assert.Equal(t, noon.Add(10_001*time.Second), entries[0].At)
		v, err = s.Session(ctx, "s2")
		require.NoError(t, err)
		assert.Equal(t, noon.Add(10_001*time.Second), v.Begun)
		assert.Equal(t, entries[len(entries)-1].At, v.Newest)
		assert.Equal(t, entries[0].Within, v.Within)

		// What comes after a contact is dated as it is taken in, by the nearest.
		tp.session("s3", "K4", 3)
		done, err = s.Append(ctx, store.Batch{Station: station, Records: tp.all, Received: noon,
			Contact: contactAt(station, tp, tp.mono, noon.Add(6*time.Hour), 5*time.Millisecond)})
		require.NoError(t, err)
		last := done.Added[len(done.Added)-1]
		assert.Equal(t, noon.Add(6*time.Hour), last.At)
		assert.Equal(t, 5*time.Millisecond, last.Within)

		// Another boot is another clock.
		tp.boots()
		tp.starts()
		tp.session("s4", "K4", 1)
		done = send(t, s, station, tp.all...)
		assert.Empty(t, done.Breaks)
		assert.True(t, done.Added[0].At.IsZero())
	})
}

func TestManyEntriesAreDatedInSeveralChanges(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.trusted = false
		for n := range 12 {
			tp.session(string(rune('a'+n)), "K4", 400)
		}
		send(t, s, station, tp.all...)
		before, err := s.Version(t.Context())
		require.NoError(t, err)
		require.NoError(t, s.SaveContact(t.Context(), *contactAt(station, tp, tp.mono, noon, 0)))
		after, err := s.Version(t.Context())
		require.NoError(t, err)
		assert.GreaterOrEqual(t, after-before, int64(3))
		for _, e := range kept(t, s, store.EntryFilter{Tag: "K4"}) {
			require.False(t, e.At.IsZero())
		}
	})
}

func TestContactsDoNotPileUp(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		for n := range 100 { // a contact a minute
			require.NoError(t, s.SaveContact(t.Context(), *contactAt(station, tp, int64(n)*60e9, noon.Add(time.Duration(n)*time.Minute), 20*time.Millisecond)))
		}
		n, err := s.Contacts(t.Context(), station, tp.boot)
		require.NoError(t, err)
		assert.Len(t, n, 7, "one in a quarter of an hour")
		// A much better one is kept in between.
		require.NoError(t, s.SaveContact(t.Context(), *contactAt(station, tp, 100e9, noon.Add(100*time.Second), 0)))
		n, err = s.Contacts(t.Context(), station, tp.boot)
		require.NoError(t, err)
		assert.Len(t, n, 8)
	})
}
