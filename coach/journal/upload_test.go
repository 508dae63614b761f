package journal_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// unsent walks the log as an uploader does and gives the stretches.
func unsent(t *testing.T, j *journal.Journal, limit int) []journal.Stretch {
	t.Helper()
	var out []journal.Stretch
	for {
		s, err := j.Unsent(limit)
		require.NoError(t, err)
		if s.Epoch == "" {
			return out
		}
		at := s.Before
		for i, r := range s.Records {
			require.Equal(t, s.Seq+int64(i)+1, r.Seq)
			at = at.Next(r.Line)
			require.Equal(t, at, r.Hash, "the chain runs on from Before")
		}
		out = append(out, s)
		require.NoError(t, j.Acknowledge(journal.Position{Epoch: s.Epoch, Seq: s.Seq + int64(len(s.Records))}))
	}
}

func TestTheLogIsSentStretchByStretch(t *testing.T) {
	_, first, j := twoEpochs(t)
	n, err := j.CountUnsent()
	require.NoError(t, err)
	assert.EqualValues(t, 9, n)
	var got []journal.Position
	for _, s := range unsent(t, j, 3) {
		got = append(got, s.Position)
		assert.False(t, s.Gone)
	}
	assert.Equal(t, []journal.Position{{Epoch: first, Seq: 0}, {Epoch: first, Seq: 3}, {Epoch: j.Epoch(), Seq: 0}, {Epoch: j.Epoch(), Seq: 3}}, got)
	n, err = j.CountUnsent()
	require.NoError(t, err)
	assert.Zero(t, n)
}

// A desk put back from an older backup gets again what is still here, and is
// told of what is not.
func TestWhatTheDeskLostIsSentAgain(t *testing.T) {
	_, first, j := twoEpochs(t)
	unsent(t, j, 100)
	_, err := j.Prune(6, nil) // of nine: three of the first epoch go
	require.NoError(t, err)

	require.NoError(t, j.Rewind(journal.Position{Epoch: first, Seq: 4}))
	require.NoError(t, j.Rewind(journal.Position{Epoch: j.Epoch(), Seq: 1}))
	again := unsent(t, j, 100)
	require.Len(t, again, 2)
	assert.Equal(t, []int64{5}, seqs(again[0].Records))
	assert.False(t, again[0].Gone)
	assert.Equal(t, []int64{2, 3, 4}, seqs(again[1].Records))

	require.NoError(t, j.Rewind(journal.Position{Epoch: first, Seq: 1}))
	again = unsent(t, j, 100)
	require.Len(t, again, 1)
	assert.Equal(t, journal.Position{Epoch: first, Seq: 3}, again[0].Position)
	assert.True(t, again[0].Gone, "2 and 3 are gone for good")

	_, err = j.Prune(2, nil)
	require.NoError(t, err)
	require.NoError(t, j.Rewind(journal.Position{Epoch: first, Seq: 2}))
	again = unsent(t, j, 100)
	require.Len(t, again, 1)
	assert.True(t, again[0].Gone)
	assert.Empty(t, again[0].Records, "all of it is gone, and that is said, too")
	assert.Equal(t, journal.Position{Epoch: first, Seq: 5}, again[0].Position)

	require.NoError(t, j.Rewind(journal.Position{Epoch: first, Seq: 500}), "no news")
	assert.Error(t, j.Rewind(journal.Position{Epoch: "other", Seq: 1}))
	assert.Empty(t, unsent(t, j, 100))
}

func TestWhatMustStayStaysWithAllAfterIt(t *testing.T) {
	dir, first, j := twoEpochs(t)
	unsent(t, j, 100)
	n, err := j.Prune(0, func(e coach.Entry) bool { return e.Epoch == first && e.Seq == 4 })
	require.NoError(t, err)
	assert.Equal(t, 3, n)
	verify(t, dir)
	left, err := j.After(journal.Position{}, 100)
	require.NoError(t, err)
	assert.Equal(t, []int64{4, 5, 1, 2, 3, 4}, seqs(left))
}
