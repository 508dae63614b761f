package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
)

func TestAnAttentionIsRaisedOnceAndEveryStepTakenOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx, station := t.Context(), addStation(t, s, "Bay 1")
		pressed := store.Attention{Reason: store.StopPressed, Station: station, Tag: "K4", Session: "s1",
			Entry: journal.Position{Epoch: "e", Seq: 9}, Raised: noon, Within: 2 * time.Second, Delivered: noon.Add(time.Second)}
		a, raised, err := s.RaiseAttention(ctx, pressed)
		require.NoError(t, err)
		assert.True(t, raised)
		again, raised, err := s.RaiseAttention(ctx, pressed) // the stop by itself, and then its entry
		require.NoError(t, err)
		assert.False(t, raised)
		assert.Equal(t, a, again)
		for range 2 { // nothing names these: each is its own
			_, raised, err = s.RaiseAttention(ctx, store.Attention{Reason: store.LostStation, Station: station, Raised: noon, Delivered: noon})
			require.NoError(t, err)
			assert.True(t, raised)
		}
		_, err = s.CloseAttention(ctx, a.ID, "R. Okafor", noon, "", "")
		require.ErrorIs(t, err, store.ErrState, "nobody has looked")

		at := func(n int) time.Time { return noon.Add(time.Duration(n) * time.Minute) }
		type step func(by string, at time.Time) (store.Attention, error)
		for n, do := range []step{
			func(_ string, at time.Time) (store.Attention, error) { return s.AttentionShown(ctx, a.ID, at) },
			func(by string, at time.Time) (store.Attention, error) {
				return s.AcknowledgeAttention(ctx, a.ID, by, at)
			},
			func(by string, at time.Time) (store.Attention, error) { return s.AttentionGoing(ctx, a.ID, by, at) },
			func(_ string, at time.Time) (store.Attention, error) { return s.AttentionTold(ctx, a.ID, at) },
			func(by string, at time.Time) (store.Attention, error) {
				return s.CloseAttention(ctx, a.ID, by, at, "sat down", "went home")
			},
		} {
			first, err := do("R. Okafor", at(n))
			require.NoError(t, err)
			second, err := do("N. Adeyemi", at(n+30))
			require.NoError(t, err)
			assert.Equal(t, first, second, "the first stays")
		}
		_, err = s.AttentionSymptom(ctx, a.ID, "dizzy")
		require.NoError(t, err)
		_, err = s.AttentionRaisedAt(ctx, a.ID, noon.Add(-time.Second), 0)
		require.NoError(t, err)
		got, err := s.Attention(ctx, a.ID)
		require.NoError(t, err)
		shown, acknowledged, going, told, closed := at(0), at(1), at(2), at(3), at(4)
		assert.Equal(t, store.Attention{ID: a.ID, Reason: store.StopPressed, Station: station, Tag: "K4", Session: "s1", Symptom: "dizzy",
			Entry: journal.Position{Epoch: "e", Seq: 9}, Raised: noon.Add(-time.Second), Delivered: noon.Add(time.Second),
			Shown: &shown, Acknowledged: &acknowledged, AcknowledgedBy: "R. Okafor", Going: &going, GoingBy: "R. Okafor",
			Told: &told, Closed: &closed, ClosedBy: "R. Okafor", Done: "sat down", Ended: "went home"}, got)
		open, err := s.OpenAttentions(ctx)
		require.NoError(t, err)
		assert.Len(t, open, 2)
		of, err := s.Attentions(ctx, store.AttentionFilter{Tag: "K4", Session: "s1", Station: station, Since: noon.Add(-time.Hour), Until: noon.Add(time.Hour)})
		require.NoError(t, err)
		assert.Equal(t, []store.Attention{got}, of)
		_, err = s.AttentionShown(ctx, 99, noon)
		require.ErrorIs(t, err, store.ErrNotFound)
	})
}

func TestAHoldIsClearedOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		h, err := s.AddHold(ctx, store.Hold{Tag: "K4", Attention: 7, Reason: store.StopPressed, Since: noon})
		require.NoError(t, err)
		again, err := s.AddHold(ctx, store.Hold{Tag: "K4", Attention: 7, Reason: store.StopPressed, Since: noon.Add(time.Hour)})
		require.NoError(t, err)
		assert.Equal(t, h, again)
		_, err = s.AddHold(ctx, store.Hold{Tag: "K4", Attention: 8, Reason: store.NotWell, Since: noon.Add(time.Minute)})
		require.NoError(t, err)
		open, err := s.OpenHolds(ctx)
		require.NoError(t, err)
		assert.Len(t, open, 2)
		cleared, err := s.ClearHold(ctx, h.ID, "R. Okafor", "seen, ECG fine", noon.Add(time.Hour))
		require.NoError(t, err)
		again, err = s.ClearHold(ctx, h.ID, "N. Adeyemi", "", noon.Add(2*time.Hour))
		require.NoError(t, err)
		assert.Equal(t, cleared, again)
		assert.Equal(t, "R. Okafor", again.ClearedBy)
		again, err = s.AddHold(ctx, store.Hold{Tag: "K4", Attention: 7, Reason: store.StopPressed, Since: noon})
		require.NoError(t, err)
		assert.NotNil(t, again.Cleared, "the same stop, sent again, does not hold a second time")
		open, err = s.OpenHolds(ctx)
		require.NoError(t, err)
		require.Len(t, open, 1)
		assert.EqualValues(t, 8, open[0].Attention)
		all, err := s.HoldsOf(ctx, "K4")
		require.NoError(t, err)
		assert.Len(t, all, 2)
		_, err = s.ClearHold(ctx, 99, "", "", noon)
		require.ErrorIs(t, err, store.ErrNotFound)
	})
}
