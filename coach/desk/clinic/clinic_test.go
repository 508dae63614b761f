package clinic

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
)

const today = coach.Day("2026-03-02")

// spoken is a voice that takes a while for everything it says.
type spoken struct{}

func (spoken) Length(p coach.Phrase) coach.Samples {
	if p.ID == "" {
		return 0
	}
	return coach.SessionRate.At(1500 * time.Millisecond)
}

func TestEverybodyBeginsWithAPlanWithoutFault(t *testing.T) {
	limits := protocol.Default()
	people := People(today)
	require.Len(t, people, 12)
	for _, who := range people {
		first := who.First(today.AddDays(-7*who.Since), today.AddDays(21), limits)
		p, faults := plan.Read(who.Tag, plan.Write(first), limits)
		require.NotNil(t, p, "%s: %v", who.Tag, faults)
		require.GreaterOrEqual(t, len(p.Patients[0].Items), 6, who.Tag)
	}
}

func led(t *testing.T, mishap Mishap) *review.Session {
	t.Helper()
	limits := protocol.Default()
	who := People(today)[0]
	p := who.First(today, today, limits)
	prog, err := p.Resolve(who.Tag, today)
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(1, 2))
	entries, length := visit(&prog, spoken{}, coach.SessionStartData{Part: coach.Whole, Speed: "1"},
		&visitor{body: newBody(r), r: r, taps: true, mishap: mishap})
	require.Positive(t, length)
	log := NewDeviceLog(r)
	begun, err := log.Boot(today.Time())
	require.NoError(t, err)
	records, err := log.Add(log.Session(), today.Time().Add(9*time.Hour), entries...)
	require.NoError(t, err)
	var read []coach.Entry
	var hash journal.Hash
	for i, rec := range append(begun, records...) {
		hash = hash.Next(rec.Line)
		require.Equal(t, hash, rec.Hash)
		e, err := rec.Entry()
		require.NoError(t, err)
		require.Equal(t, int64(i+1), e.Seq)
		read = append(read, e)
	}
	sessions := review.Read(read, time.UTC).Sessions
	require.Len(t, sessions, 1)
	require.False(t, sessions[0].Doubtful, sessions[0].Marks)
	return sessions[0]
}

func TestAVisitIsARealSession(t *testing.T) {
	s := led(t, NoMishap)
	require.Equal(t, coach.Completed, s.Outcome)
	require.Len(t, s.Items, 10)
	confirmed := 0
	for _, it := range s.Items {
		for _, set := range it.Sets {
			confirmed += set.Confirmed
		}
	}
	require.Greater(t, confirmed, 50, "who taps confirms most repetitions")
}

func TestMishapsEndAsTheyDoForPeople(t *testing.T) {
	for mishap, outcome := range map[Mishap]coach.Outcome{StopInSet: coach.Stopped, NotWellToday: coach.NotStarted,
		FeltAfterward: coach.Completed, WalksAway: coach.Abandoned, LeavesOut: coach.Completed} {
		t.Run(string(mishap), func(t *testing.T) {
			s := led(t, mishap)
			require.Equal(t, outcome, s.Outcome)
			if mishap != WalksAway && mishap != LeavesOut {
				require.NotEmpty(t, s.Events)
			}
		})
	}
}
