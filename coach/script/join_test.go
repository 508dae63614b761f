package script

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

func TestJoinsFollowTheMarks(t *testing.T) {
	for text, want := range map[string]Join{"push": Running, "push ": Running, "one,": Comma, "one, ": Comma, "done.": FullStop,
		"well?": FullStop, "(well).": FullStop, "so:": Comma, "2.5 kilograms": Running, "": Running} {
		assert.Equal(t, want, joinAfter(text), text)
	}
}

// A sentence of many clips runs where it has no mark, and every phrase ends
// with the end of a sentence.
func TestClipsOfASentenceRun(t *testing.T) {
	s, err := Load("en")
	require.NoError(t, err)
	for _, r := range []struct {
		phrase coach.Phrase
		joins  []Join
	}{
		{coach.Phrase{ID: coach.SayCountVerb, N: 1, Exercise: "heel-raise", Stage: "holding-on", Phase: coach.Lift}, []Join{Comma, FullStop}},
		{coach.Phrase{ID: coach.SayWelcome, Name: "K4"}, []Join{Running, Running, FullStop, FullStop, FullStop, FullStop, FullStop}},
	} {
		var joins []Join
		for _, c := range s.Say(r.phrase) {
			joins = append(joins, c.After)
		}
		assert.Equal(t, r.joins, joins, "%q", s.Text(r.phrase))
	}
	load := s.Say(coach.Phrase{ID: coach.SayLoad, Load: coach.Load{}})
	assert.Equal(t, FullStop, load[len(load)-1].After)
	for _, c := range s.Clips() {
		assert.Zero(t, c.After, "a clip of the pack has no place in a sentence")
	}
}
