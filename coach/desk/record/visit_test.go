package record

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// places are where the parts of the test's visit were led.
var places = []string{"Bay 1", "Bay 2", "Bay 3"}

// visit is what somebody did at three places, ended as each part of it says.
func visit(t testing.TB, ways ...how) ([]Session, review.Visit) {
	t.Helper()
	parts := []how{{part: coach.First, items: []int{0}}, {part: coach.Middle, items: []int{1, 2}}, {part: coach.Last, items: []int{3}}}
	var entries []Entry
	at := day(0)
	for i, p := range parts {
		if i < len(ways) {
			h := ways[i]
			h.part, h.items = p.part, p.items
			p = h
		}
		one := playedAs(t, i+1, at, p)
		for k := range one {
			one[k].StationName = places[i]
		}
		entries = append(entries, one...)
		at = one[len(one)-1].At.Add(90 * time.Second)
		if last, err := one[len(one)-1].read(); err == nil && slices.Contains([]coach.EntryKind{coach.EntrySessionEnd}, last.Kind) &&
			last.Data.(*coach.SessionEndData).Outcome != coach.Completed {
			break
		}
	}
	sessions, log, err := Read(entries, berlin)
	require.NoError(t, err)
	all := log.Visits()
	require.Len(t, all, 1)
	require.Len(t, all[0].Stays, len(sessions))
	for i := range sessions {
		sessions[i].Visit = all[0].ID()
	}
	return sessions, all[0]
}

func visitNote(t testing.TB, ways ...how) NoteInput {
	sessions, v := visit(t, ways...)
	p, _ := readPlan(t)
	c := chart(t)
	return NoteInput{Clinic: c.Clinic, Patient: c.Patient, Sessions: sessions, Visit: &v, Planned: p.Patients[0].Items}
}

func TestNoteOfAVisit(t *testing.T) {
	n := NoteOf(visitNote(t))
	t.Log("\n" + n.Text())
	assert.Equal(t, "Visit of 2 March 2026, 09:00", n.Title)
	for _, want := range []string{
		"It was done in 3 parts. It was completed. Felt well throughout and at the end.",
		"Bay 1, the first part, 09:00 to 09:", "Bay 2, a middle part, 09:", "Bay 3, the last part, 09:", ": completed.",
		"Bay 1: Felt well. No new symptoms since the last session. Tablets taken. Warmed up elsewhere. Bay 2: No new", "Bay 2: No new symptoms since the last place.", "Bay 3: No new symptoms since the last place.",
		"Biceps curl (seated): 2 sets of 10", "Bay 1: Biceps curl: ", "Bay 2: Lateral raise: ", "Bay 3: Seated heel raise: ",
		"Between the places, from the last set at one to the first at the next: ", " from Bay 1 to Bay 2, ", " from Bay 2 to Bay 3.",
		"Events\nNone.", "The log of this visit is whole.",
	} {
		assert.Contains(t, n.Text(), want)
	}
	assert.NotContains(t, n.Text(), "not begun")
	assert.NotContains(t, n.Text(), "not here yet")
}

func TestNoteOfAVisitStoppedAtTheSecondPlace(t *testing.T) {
	n := NoteOf(visitNote(t, how{}, how{stop: 1})).Text()
	for _, want := range []string{"It was done in 2 parts. It was stopped with the red button at Bay 2.", "Bay 2: The red button was pressed at ", "Seated heel raise: not begun."} {
		assert.Contains(t, n, want)
	}
	assert.NotContains(t, n, "not here yet")
	// Not well at a later place: what was done before counts as done.
	n = NoteOf(visitNote(t, how{}, how{minus: coach.QuestionSymptoms})).Text()
	assert.Contains(t, n, "It was not started at Bay 2.")
	assert.Contains(t, n, "Bay 2: Had new symptoms since the last place.")
}

func TestNoteOfAVisitWithAPartMissing(t *testing.T) {
	in := visitNote(t)
	v := *in.Visit
	v.Stays, v.Awaited.Places = v.Stays[:2], []string{"Bay 3"}
	in.Visit, in.Sessions = &v, in.Sessions[:2]
	n := NoteOf(in).Text()
	assert.Contains(t, n, "Its end is not in the log. The part at Bay 3 is not here yet.")
	in.Visit.Awaited.Places = nil
	assert.Contains(t, NoteOf(in).Text(), "The last part is not here yet.")
	in.Visit.Awaited.All = true
	assert.Contains(t, NoteOf(in).Text(), "It was done in 2 parts. It went no further than Bay 2.")
}

// Where the clocks contradict each other, no rest is made up.
func TestNoteOfAVisitWhoseClocksDiffer(t *testing.T) {
	in := visitNote(t)
	in.Visit.Stays[1].Start = in.Visit.Stays[1].Start.Add(-time.Hour)
	n := NoteOf(in).Text()
	assert.Contains(t, n, "The clocks of Bay 1 and Bay 2 differ by more than ")
	assert.Contains(t, n, "from Bay 2 to Bay 3.")
	in = visitNote(t)
	in.Visit.Stays[1].Within = 4 * time.Second
	assert.Contains(t, NoteOf(in).Text(), "from Bay 1 to Bay 2 (give or take 4 s)")
}

// The note of one part speaks of that part alone.
func TestNoteOfAPart(t *testing.T) {
	in := visitNote(t)
	p, _ := readPlan(t)
	in.Sessions, in.Visit, in.Planned = in.Sessions[1:2], nil, p.Patients[0].Items[1:3]
	n := NoteOf(in).Text()
	assert.Contains(t, n, "It was a middle part of the day's session.")
	assert.Contains(t, n, "No new symptoms since the last place.")
	assert.NotContains(t, n, "not begun")
}

func visitChart(t testing.TB, ways ...how) Chart {
	sessions, v := visit(t, ways...)
	c := chart(t)
	c.Sessions, c.Visits = sessions, []review.Visit{v}
	c.Attentions[0].Session = sessions[len(sessions)-1].ID
	return c
}

// A visit is an Encounter that its parts refer to.
func TestFHIRJoinsAVisit(t *testing.T) {
	for _, x := range []struct {
		ways   []how
		parts  int
		status string
	}{{nil, 3, "finished"}, {[]how{{}, {stop: 1}}, 2, "finished"}, {[]how{{minus: coach.QuestionWell}}, 1, "cancelled"}} {
		got := resources(t, written(t, visitChart(t, x.ways...)))
		require.Len(t, got["Encounter"], 1)
		e := got["Encounter"][0]
		assert.Equal(t, x.status, e["status"])
		assert.Equal(t, map[string]any{"system": actCodes, "code": "AMB", "display": "ambulatory"}, e["class"])
		require.Len(t, got["Procedure"], x.parts)
		for _, kind := range []string{"Procedure"} {
			for _, p := range got[kind] {
				assert.Equal(t, map[string]any{"reference": "urn:uuid:" + e["id"].(string)}, p["encounter"])
			}
		}
	}
	c := visitChart(t)
	c.Visits[0].Stays = c.Visits[0].Stays[:2]
	c.Sessions = c.Sessions[:2]
	got := resources(t, written(t, c))
	assert.Equal(t, "unknown", got["Encounter"][0]["status"])
	assert.Contains(t, got["Procedure"][0]["note"], map[string]any{"text": "The visit: the last part is not here yet."})
	assert.Empty(t, resources(t, written(t, chart(t)))["Encounter"], "a whole session is none")
}

func TestTablesNameTheVisit(t *testing.T) {
	sessions, v := visit(t)
	each := func(yield func(Session, error) bool) {
		for _, s := range sessions {
			if !yield(s, nil) {
				return
			}
		}
	}
	for _, write := range []func(*bytes.Buffer) error{
		func(b *bytes.Buffer) error { return WriteSets(b, JSONL, clinic(), each) },
		func(b *bytes.Buffer) error { return WriteSessions(b, JSONL, clinic(), nil, each) },
	} {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		n := 0
		for l := range strings.SplitSeq(strings.TrimSpace(b.String()), "\n") {
			var row struct{ Visit string }
			require.NoError(t, json.Unmarshal([]byte(l), &row))
			assert.Equal(t, v.ID(), row.Visit)
			n++
		}
		assert.GreaterOrEqual(t, n, 3)
	}
	for _, what := range []string{"sets", "sessions"} {
		cols, err := Columns(what)
		require.NoError(t, err)
		assert.Equal(t, "visit", cols[len(cols)-1].Name, "added, behind what was there")
	}
}

// An incident names the other parts of the visit, with how each ended.
func TestIncidentNamesTheOtherParts(t *testing.T) {
	in := incident(t)
	row := func(id, at string, part coach.Part, begun time.Time, o coach.Outcome) Part {
		return Part{Session: store.Session{ID: id, Part: part, Begun: begun, Newest: begun.Add(6 * time.Minute), Outcome: o, Within: 2 * time.Second}, StationName: at}
	}
	in.Visit = []Part{row("one", "Bay 1", coach.First, day(2).Add(-9*time.Minute), coach.Completed), row(in.Session, "Bay 3", coach.Middle, day(2), coach.Stopped),
		row("three", "Bay 2", coach.Last, time.Time{}, "")}
	in.Visit[2].Newest = time.Time{}
	r := report(t, in)
	assert.Equal(t, []VisitPart{
		{Session: "one", Station: "Bay 1", Part: coach.First, Began: "2026-03-04T08:51:00.000+01:00", Ended: "2026-03-04T08:57:00.000+01:00", WithinS: "2.000", Outcome: coach.Completed, How: "completed"},
		{Session: "three", Station: "Bay 2", Part: coach.Last, WithinS: "2.000", How: "end not in the log"},
	}, r.Visit)
	var b bytes.Buffer
	require.NoError(t, r.Write(&b, JSONL))
	assert.Equal(t, 2, strings.Count(b.String(), `{"part":"visit_part","is":{"session":`))
	in.Visit = nil
	b.Reset()
	require.NoError(t, report(t, in).WriteJSON(&b))
	assert.Contains(t, b.String(), `"visit": []`)
}
