package store_test

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// There is one recording for the same words, and whatever takes its place waits
// for a supervisor anew.
func TestRecordings(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		v := store.Recording{Language: "en", Text: "Sit tall. “Hold” the tøwel.", Hash: "one", Exercise: "own-towel-pull", Line: coach.SetUpLine,
			Length: 2340 * time.Millisecond, By: "M. Lind", At: noon}
		sound := bytes.Repeat([]byte{0, 1, 0xfe, 0xff, '\'', '\n'}, 100_000)
		require.NoError(t, s.KeepRecording(ctx, v, sound))
		other := v
		other.Language, other.Hash = "es", "two"
		require.NoError(t, s.KeepRecording(ctx, other, []byte("¡hola!")))
		got, same, err := s.Recording(ctx, "one")
		require.NoError(t, err)
		assert.Equal(t, v, got)
		assert.True(t, bytes.Equal(sound, same))

		later := noon.Add(time.Hour)
		require.NoError(t, s.SignRecording(ctx, "one", "R. Okafor", later))
		v.Signed, v.SignedAt = "R. Okafor", later
		all, err := s.Recordings(ctx)
		require.NoError(t, err)
		assert.Equal(t, []store.Recording{v, other}, all)

		v.Hash, v.By, v.At, v.Signed, v.SignedAt = "three", "R. Okafor", later, "", time.Time{}
		require.NoError(t, s.KeepRecording(ctx, v, []byte("again")))
		all, err = s.Recordings(ctx)
		require.NoError(t, err)
		assert.Equal(t, []store.Recording{v, other}, all)
		_, _, err = s.Recording(ctx, "one")
		require.ErrorIs(t, err, store.ErrNotFound)
		require.ErrorIs(t, s.SignRecording(ctx, "one", "R. Okafor", later), store.ErrNotFound)

		require.NoError(t, s.RemoveRecording(ctx, "three"))
		require.ErrorIs(t, s.RemoveRecording(ctx, "three"), store.ErrNotFound)
		all, err = s.Recordings(ctx)
		require.NoError(t, err)
		assert.Equal(t, []store.Recording{other}, all)
	})
}
