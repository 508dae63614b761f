package record

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/journal"
)

// withoutClock is a session on a station whose clock nobody trusts; the desk
// has derived its times, give or take two seconds.
func withoutClock(t *testing.T) []Entry {
	t.Helper()
	entries := played(t, 3, day(0), 0)
	var hash journal.Hash
	for i, e := range entries {
		got, err := journal.ParseLine(e.Line)
		require.NoError(t, err)
		got.Wall = nil
		line, err := journal.Line(got)
		require.NoError(t, err)
		hash = hash.Next(line)
		entries[i].Line, entries[i].Hash, entries[i].Within = line, hash, 2*time.Second
	}
	return entries
}

func TestTimesTheDeskDerived(t *testing.T) {
	entries := withoutClock(t)
	got, log, err := Read(entries, berlin)
	require.NoError(t, err)
	require.Empty(t, log.Marks)
	require.Len(t, got, 1)
	s := got[0]
	assert.Equal(t, day(0).In(berlin), s.Start)
	assert.Equal(t, 2*time.Second, s.Within)
	assert.False(t, s.Doubtful, s.Marks)
	span := s.span(s.Items[0], s.Items[0].Sets[0])
	assert.Equal(t, s.Items[0].Sets[0].Work.Round(time.Millisecond), span.end.Sub(span.start))

	note := NoteOf(NoteInput{Clinic: clinic(), Sessions: []Session{s}}).Text()
	assert.Contains(t, note, "Its times may be off by 2 s.")
	c := chart(t)
	c.Sessions = got
	assert.Contains(t, string(written(t, c)), "times may be off by 2 s")

	// Nobody can tell: nothing is made up.
	for i := range entries {
		entries[i].At, entries[i].Within = time.Time{}, 0
	}
	got, _, err = Read(entries, berlin)
	require.NoError(t, err)
	assert.True(t, got[0].Start.IsZero())
	c.Sessions = got
	b := written(t, c)
	assert.Nil(t, resources(t, b)["Procedure"][0]["performedPeriod"])
	in := incident(t)
	in.Entries, in.Session = entries, got[0].ID
	for _, m := range report(t, in).Moments {
		if m.Seq > 0 {
			require.Empty(t, m.At)
		}
	}
}

func TestReadRefusesWhatIsNoEntry(t *testing.T) {
	entries := played(t, 1, day(0), 0)
	entries[4].Line = []byte("{")
	_, _, err := Read(entries, berlin)
	require.ErrorContains(t, err, "entry 5 of epoch")
}
