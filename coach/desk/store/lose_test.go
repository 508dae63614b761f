package store_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
)

// A station that has pruned all of an epoch says so without an entry to send;
// the log goes on after it, and a break says what is missing.
func TestWhatTheStationHasNothingAfter(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 20)
		send(t, s, station, tp.all[:4]...)
		last := tp.all[9]
		for range 2 { // it may be said again
			done, err := s.Lose(t.Context(), station, last.Position, last.Hash, noon)
			require.NoError(t, err)
			assert.Equal(t, last.Position, done.Mark)
		}
		breaks, err := s.Breaks(t.Context(), station)
		require.NoError(t, err)
		require.Len(t, breaks, 1)
		assert.Contains(t, breaks[0].What, "entries 5 to 10 never came")
		done := send(t, s, station, tp.all[10:]...)
		assert.Empty(t, done.Breaks, "the chain goes on from the hash there")

		unknown := journal.Position{Epoch: "00000000000000000000000000000099", Seq: 7}
		done, err = s.Lose(t.Context(), station, unknown, last.Hash, noon)
		require.NoError(t, err)
		assert.Equal(t, unknown, done.Mark)
		e, err := s.Mark(t.Context(), station, unknown.Epoch)
		require.NoError(t, err)
		assert.Equal(t, int64(7), e.Mark)

		// An epoch known only by what was lost is dated by its contacts all the same.
		later := newTape(t)
		later.trusted = false
		later.session("s2", "K4", 3)
		other := addStation(t, s, "Bay 2")
		_, err = s.Lose(t.Context(), other, later.all[2].Position, later.all[2].Hash, noon)
		require.NoError(t, err)
		require.NoError(t, s.SaveContact(t.Context(), *contactAt(other, later, later.mono, noon, 0)))
		done = send(t, s, other, later.all[3:]...)
		assert.Equal(t, noon, done.Added[len(done.Added)-1].At)
	})
}
