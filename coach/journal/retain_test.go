package journal_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// seqs is what a list of records is numbered.
func seqs(records []journal.Record) []int64 {
	var out []int64
	for _, r := range records {
		out = append(out, r.Seq)
	}
	return out
}

// twoEpochs has entries 1–5 in an epoch that is over and 1–4 in this one.
func twoEpochs(t *testing.T) (dir, first string, j *journal.Journal) {
	dir = t.TempDir()
	j = open(t, dir)
	first = j.Epoch()
	appendTo(t, j, rep(1), rep(2), rep(3), rep(4))
	require.NoError(t, j.Close())
	j = open(t, dir)
	appendTo(t, j, rep(5), rep(6), rep(7))
	return dir, first, j
}

func TestOnlyAcknowledgedEntriesAreDeleted(t *testing.T) {
	dir, first, j := twoEpochs(t)
	prune := func(keep int) int {
		t.Helper()
		n, err := j.Prune(keep, nil)
		require.NoError(t, err)
		verify(t, dir) // the chain holds across what is gone
		return n
	}
	assert.Zero(t, prune(0), "nothing is acknowledged")

	require.NoError(t, j.Acknowledge(journal.Position{Epoch: j.Epoch(), Seq: 2}))
	assert.Zero(t, prune(0), "the first entry of all is not")

	require.NoError(t, j.Acknowledge(journal.Position{Epoch: first, Seq: 3}))
	require.NoError(t, j.Acknowledge(journal.Position{Epoch: first, Seq: 1}), "late, and takes nothing back")
	assert.Equal(t, 1, prune(8), "eight stay in any case")
	assert.Equal(t, []int64{2, 3, 4, 5, 1, 2, 3, 4}, seqs(all(t, j.Reader)))
	assert.Equal(t, 2, prune(0))
	assert.Equal(t, []int64{4, 5, 1, 2, 3, 4}, seqs(all(t, j.Reader)))

	require.NoError(t, j.Acknowledge(journal.Position{Epoch: first, Seq: 5}))
	assert.Equal(t, 4, prune(0), "from one epoch into the next")
	assert.Equal(t, []int64{3, 4}, seqs(all(t, j.Reader)))

	require.NoError(t, j.Acknowledge(journal.Position{Epoch: j.Epoch(), Seq: 4}))
	assert.Equal(t, 2, prune(0))
	assert.Empty(t, all(t, j.Reader))
	assert.EqualValues(t, 5, appendTo(t, j, rep(8)).Seq, "a number is never used again")
	report := verify(t, dir)
	assert.Equal(t, journal.Report{Epochs: 2, Entries: 1, Head: journal.Position{Epoch: j.Epoch(), Seq: 5}}, report)

	require.NoError(t, j.Close())
	next := open(t, dir)
	assert.EqualValues(t, 5, next.Previous().PreviousSeq)
	verify(t, dir)
}

func TestWhatTheDeskHasNotSaidItHas(t *testing.T) {
	_, first, j := twoEpochs(t)
	waiting := func(limit int) []int64 {
		t.Helper()
		var records []journal.Record
		for at := (journal.Position{}); len(records) < limit; {
			s, err := j.UnsentAfter(at, limit-len(records))
			require.NoError(t, err)
			if len(s.Records) == 0 {
				break
			}
			records = append(records, s.Records...)
			at = records[len(records)-1].Position
		}
		return seqs(records)
	}
	assert.Equal(t, []int64{1, 2, 3, 4, 5, 1, 2, 3, 4}, waiting(100))
	require.NoError(t, j.Acknowledge(journal.Position{Epoch: first, Seq: 4}))
	assert.Equal(t, []int64{5, 1, 2}, waiting(3))
	require.NoError(t, j.Acknowledge(journal.Position{Epoch: first, Seq: 5}))
	require.NoError(t, j.Acknowledge(journal.Position{Epoch: j.Epoch(), Seq: 4}))
	assert.Empty(t, waiting(100))

	assert.EqualError(t, j.Acknowledge(journal.Position{Epoch: "x", Seq: 1}), `acknowledging "x" 1: this log has no such epoch`)
	assert.EqualError(t, j.Acknowledge(journal.Position{Epoch: first, Seq: 6}), "acknowledging "+first+" 6: the epoch ends at 5")
}

func TestSpace(t *testing.T) {
	for _, c := range []struct {
		free, perDay int64
		days         int
		whole        bool
	}{
		{journal.SessionBytes - 1, 1, 0, false},
		{journal.SessionBytes, 1, 0, true},
		{journal.SessionBytes + 30*journal.BusyDayBytes, journal.BusyDayBytes, 30, true},
		{journal.SessionBytes + 30*journal.BusyDayBytes - 1, journal.BusyDayBytes, 29, true},
	} {
		s := journal.Space{Free: c.free, PerDay: c.perDay}
		assert.Equal(t, c.days, s.DaysLeft())
		assert.Equal(t, c.whole, s.WholeSession())
	}

	c := &fakeClock{journal.Instant{Mono: 1e9, Wall: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), Trusted: true}}
	j := open(t, t.TempDir(), journal.WithClock(c))
	s, err := j.Space()
	require.NoError(t, err)
	assert.Positive(t, s.Free)
	assert.EqualValues(t, journal.BusyDayBytes, s.PerDay, "the log is too young to tell")

	busy := rep(1)
	busy.Exercise = strings.Repeat("x", 64<<10)
	for range 5 {
		appendTo(t, j, slices.Repeat([]coach.Entry{busy}, 40)...)
	}
	c.pass(30 * time.Hour)
	appendTo(t, j, rep(2))
	s, err = j.Space()
	require.NoError(t, err)
	assert.Greater(t, s.PerDay, int64(journal.BusyDayBytes), "thirteen megabytes in two days")
}
