package record

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/review"
	"evenbell/coach/session"
)

func note(t testing.TB, n int) NoteInput {
	t.Helper()
	c := chart(t)
	p, _ := readPlan(t)
	in := NoteInput{Clinic: c.Clinic, Patient: c.Patient, Sessions: c.Sessions[n : n+1], Planned: p.Patients[0].Items}
	if n == 0 {
		in.Screening = &c.Screenings[0]
	} else {
		in.Attentions, in.Holds = c.Attentions, incident(t).Holds
	}
	return in
}

func TestNoteOfAWholeSession(t *testing.T) {
	n := NoteOf(note(t, 0))
	t.Log("\n" + n.Text())
	assert.Equal(t, "Session of 2 March 2026, 09:00", n.Title)
	assert.Equal(t, "Søren Łukasz Muñoz (K4)", n.Patient)
	for _, want := range []string{
		"Biceps curl (seated): 2 sets of 10 in all, the sides in turn, 2.5 kg.",
		"Lateral raise: 10 repetitions led, 10 confirmed by a tap, led to the end, two to four left.",
		"Felt well.", "It was completed.", "Events\nNone.", "Felt well throughout and at the end.", "100 % kept the pace", "rests of 1 min each.",
		"Warm-up and cool-down were led to their end.", "The log of this session is whole.",
	} {
		assert.Contains(t, n.Text(), want)
	}
	assert.NotContains(t, n.Text(), "Who looked")
}

func TestNoteOfAStoppedSession(t *testing.T) {
	n := NoteOf(note(t, 1)).Text()
	t.Log("\n" + n)
	for _, want := range []string{
		"It was stopped with the red button.", "The red button was pressed at", "Named after the stop: dizzy or faint.", "on a page after 0.4 s",
		"acknowledged by T. Almeida after 7 s", "T. Almeida on the way after 8 s", "Done: sat down, pressure taken. Ended: went home well.",
		"cleared by R. Okafor on 5 March 2026, 09:00: seen by the physician.", "Seated heel raise: not begun.",
	} {
		assert.Contains(t, n, want)
	}
}

// Every way a session can go reads as what it was.
func TestNoteOfOtherEndings(t *testing.T) {
	for _, tc := range []struct {
		how
		want []string
	}{
		{how{enough: 1}, []string{"Biceps curl: 13 repetitions led, 13 confirmed by a tap, a set ended early by the patient", "All was well after a set ended early.", "It was completed."}},
		{how{enough: 1, minus: coach.QuestionAllRight}, []string{"The session was stopped by an answer at", "Not well after a set ended early.", "It was stopped."}},
		{how{skip: 3}, []string{"Band leg curl: 3 repetitions led, 3 confirmed by a tap, not led to its end", "Paused once"}},
		{how{minus: coach.QuestionSymptoms}, []string{"It was not started.", "Had new symptoms since the last session.", "Biceps curl: not begun."}},
		{how{minus: coach.QuestionClosing}, []string{"Something was felt, by the closing question at"}},
		{how{silent: coach.QuestionTablets}, []string{"It was ended because nobody answered.", "Nobody answered the station at"}},
		{how{silent: session.ForEffort}, []string{"effort not answered"}},
		{how{stop: 1}, []string{"Biceps curl: 3 repetitions led", "It was stopped with the red button."}},
	} {
		sessions, _, err := Read(playedAs(t, 1, day(0), tc.how), berlin)
		require.NoError(t, err)
		p, _ := readPlan(t)
		n := NoteOf(NoteInput{Clinic: clinic(), Sessions: sessions[:1], Planned: p.Patients[0].Items}).Text()
		for _, want := range tc.want {
			assert.Contains(t, n, want, "%+v", tc.how)
		}
		c := chart(t)
		c.Sessions = sessions
		resources(t, written(t, c))
	}
}

func TestNoteGuessesNothing(t *testing.T) {
	s := Session{Session: &review.Session{ID: "s", Tag: "M7", Doubtful: true, Marks: []review.Mark{"its end is missing"}}}
	n := NoteOf(NoteInput{Clinic: clinic(), Sessions: []Session{s}}).Text()
	require.Contains(t, n, "Session of an unknown time")
	assert.Contains(t, n, "Tag M7")
	assert.Contains(t, n, "Its end is not in the log.")
	assert.Contains(t, n, "cannot be trusted. Its end is missing.")
	assert.False(t, strings.Contains(n, "completed"))
}
