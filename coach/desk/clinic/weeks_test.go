package clinic

import (
	"context"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
)

// lengths gives a station half a minute to say hello and two for each exercise.
func lengths(_ string, who coach.Programme) (lead, total time.Duration, err error) {
	return 30 * time.Second, 30*time.Second + time.Duration(2*len(who.Items))*time.Minute, nil
}

// clinicWithAPast goes through the weeks over a store in a folder of its own.
func clinicWithAPast(t *testing.T) *store.Store {
	t.Helper()
	ctx := context.Background()
	st, err := store.Open(ctx, t.TempDir())
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, st.Close()) })
	zone, err := time.LoadLocation(Zone)
	require.NoError(t, err)
	clock := &Clock{}
	clock.Set(today.AddDays(-100).Time())
	d := desk.New(desk.Config{Alone: true, Store: st, Now: clock.Now, Length: lengths})
	console := desk.AtConsole("test")
	staff := func(name string, role store.Role) desk.Actor {
		m, err := d.AddStaff(ctx, console, name, role, "a long enough sentence")
		require.NoError(t, err)
		return desk.Actor{ID: m.ID, Name: m.Name, Role: role}
	}
	p := &Past{Desk: d, Link: d.Link(), Clock: clock, Speech: spoken{}, Today: today, Zone: zone,
		Start: coach.SessionStartData{Voice: "invented", Program: "invented"}, Rand: rand.New(rand.NewPCG(7, 7)),
		Supervisor: staff("R. Okafor", store.Supervisor), Assistant: staff("J. Lindqvist", store.Assistant),
		Admin: staff("P. Amsel", store.Admin)}
	require.NoError(t, p.Make(ctx))
	return st
}

func TestTheWeeksAreTrue(t *testing.T) {
	ctx := context.Background()
	st := clinicWithAPast(t)
	sessions, err := st.Sessions(ctx, store.SessionFilter{})
	require.NoError(t, err)
	require.Greater(t, len(sessions), 130, "twelve people, two visits a week")
	outcomes := map[coach.Outcome]int{}
	for _, s := range sessions {
		outcomes[s.Outcome]++
	}
	require.Greater(t, outcomes[coach.Completed], 120)
	require.Equal(t, 1, outcomes[coach.Stopped])
	require.Equal(t, 1, outcomes[coach.NotStarted])
	require.Equal(t, 1, outcomes[coach.Abandoned])
	classesAreJoined(t, sessions)

	stations, err := st.Stations(ctx)
	require.NoError(t, err)
	for _, s := range stations {
		epochs, err := st.Epochs(ctx, s.ID)
		require.NoError(t, err)
		for _, e := range epochs {
			_, err := st.VerifyLog(ctx, s.ID, e.Epoch)
			require.NoError(t, err)
		}
	}
	house, err := st.StationByName(ctx, House.Name)
	require.NoError(t, err)
	there := 0
	for _, s := range sessions {
		if s.Station == house.ID {
			there++
			require.Equal(t, "Y3", s.Tag)
		}
	}
	require.Greater(t, there, 2, "who exercises at home does so there")
	sent, err := st.PlanFor(ctx, house.ID)
	require.NoError(t, err)
	require.Contains(t, sent.Text, "[patient.home]\ntelephone = \"020 912 0456\"\nemergency = \"Call the emergency number, then your daughter Astrid.\"\ndays_between = 2\n")
	asked := 0
	for e, err := range st.Entries(ctx, store.EntryFilter{Tag: "Y3"}) {
		require.NoError(t, err)
		if strings.Contains(string(e.Line), `"id":"telephone"`) {
			asked++
		}
	}
	require.GreaterOrEqual(t, asked, there, "each session asks for the telephone")
	breaks, err := st.Breaks(ctx, 0)
	require.NoError(t, err)
	require.Empty(t, breaks)

	holds, err := st.OpenHolds(ctx)
	require.NoError(t, err)
	require.NotEmpty(t, holds, "who was not well at the last visit is held until somebody clears it")

	lines, err := st.VerifyAudit(ctx)
	require.NoError(t, err)
	require.Greater(t, lines, int64(500))
	ups := 0
	people, err := st.Patients(ctx, store.PatientFilter{})
	require.NoError(t, err)
	require.Len(t, people, 12)
	for _, who := range people {
		decisions, err := st.DecisionsOf(ctx, who.ID)
		require.NoError(t, err)
		for _, d := range decisions {
			if d.Answer == store.Accepted && d.Proposal.Action != dose.Hold {
				ups++
			}
		}
	}
	require.Greater(t, ups, 20, "people get stronger, and the rules say so")
}

// On Thursdays people went from station to station: each visit is of parts that
// the real code coached, in the order of the timetable.
func classesAreJoined(t *testing.T, sessions []store.Session) {
	t.Helper()
	joined := map[coach.Day]int{}
	for _, v := range desk.Join(sessions) {
		if !v.Joined() {
			continue
		}
		joined[v.Day()]++
		require.Empty(t, v.Missing())
		require.True(t, v.Over())
		if v.Outcome() == coach.Completed {
			require.Greater(t, len(v.Stays), 1)
			require.Equal(t, coach.First, v.Stays[0].Part)
			require.Equal(t, coach.Last, v.Stays[len(v.Stays)-1].Part)
		}
		for i, s := range v.Stays[1:] {
			require.False(t, s.Start.Before(v.Stays[i].End), "nobody is at two places at once")
		}
	}
	require.Len(t, joined, classWeeks, "%v", joined)
	for day, n := range joined {
		require.GreaterOrEqual(t, n, 3, day)
	}
}
