package main

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/dose"
	"evenbell/coach/journal"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
	"evenbell/coach/session"
)

// secondSpeech takes a second to say anything.
type secondSpeech struct{}

func (secondSpeech) Length(p coach.Phrase) coach.Samples {
	if p == (coach.Phrase{}) {
		return 0
	}
	return coach.Samples(coach.SessionRate)
}

// led runs a real session to its end with a well person who names the reserve
// that effort presses, and gives its journal.
func led(t *testing.T, prog *coach.Programme, id string, start time.Time, effort coach.Button) []coach.Entry {
	stamp := journal.NewStamp("epoch-"+id, "boot", id, &start, 0)
	entries := []coach.Entry{stamp.Start(coach.StartData{})}
	for _, e := range coached(t, prog, coach.SessionStartData{Speed: "1"}, effort) {
		entries = append(entries, stamp.Next(e))
	}
	return entries
}

// coached is what such a session logs, not yet numbered and dated.
func coached(t *testing.T, prog *coach.Programme, start coach.SessionStartData, effort coach.Button) []coach.Entry {
	s := session.New(prog, secondSpeech{}, start)
	var out session.Output
	for !s.Done() {
		s.Advance(s.Pos()+coach.Samples(coach.SessionRate)/2, &out)
		if w := s.Waiting(); w.For != "" && s.Pos() >= w.Prompted {
			s.Press(answer(w.For, effort), s.Pos(), &out)
		}
		require.Less(t, s.Pos(), coach.SessionRate.At(2*time.Hour), "the session never ends")
	}
	for i := range out.Entries {
		out.Entries[i].Tag = prog.Tag
	}
	return out.Entries
}

func answer(waiting string, effort coach.Button) coach.Button {
	switch waiting {
	case session.ForReady:
		return coach.Tap
	case session.ForEffort:
		return effort
	}
	return coach.Plus
}

// The whole way round, with the real station and no hand between: session,
// journal, review, proposal, next session. A person with plenty left rises by
// owned loads, none over the published step unless it says so; once they say
// that nothing is left, the step is taken back.
func TestTheWholeWayRound(t *testing.T) {
	text, err := os.ReadFile("../../testdata/dose/plan.toml")
	require.NoError(t, err)
	pl, faults := plan.Read("plan.toml", text, protocol.Default())
	require.NotNil(t, pl, "%v", faults)
	prog, err := pl.Resolve("K4", pl.Day)
	require.NoError(t, err)
	exercise, ok := catalogue.Find("dumbbell-row")
	require.True(t, ok)
	o, err := dose.ParseOwned("3, 4, 4.4, 4.8, 5.2, 6 kg")
	require.NoError(t, err)

	var entries []coach.Entry
	next := func(visit int, effort coach.Button) dose.Proposal {
		start := pl.Day.AddDays(3 * visit).Time().Add(9 * time.Hour)
		entries = append(entries, led(t, &prog, string(start.Format("0102")), start, effort)...)
		log := review.Read(entries, nil).Of("K4")
		for _, s := range log.Sessions {
			require.False(t, s.Doubtful, "%v", s.Marks)
		}
		got, err := dose.Propose(protocol.Default(), o, log.History(exercise), coach.DayOf(start).AddDays(1))
		require.NoError(t, err)
		for i := range prog.Items {
			if prog.Items[i].Exercise == exercise.ID {
				prog.Items[i].Dose = got.To
			}
		}
		return got
	}
	var loads []string
	for visit := range 6 {
		loads = append(loads, next(visit, coach.Plus).To.Load.String())
	}
	assert.Equal(t, []string{"4 kg", "4.4 kg", "4.4 kg", "4.8 kg", "4.8 kg", "5.2 kg"}, loads)

	got := next(6, coach.Minus)
	assert.Equal(t, dose.RuleRevert, got.Rule)
	assert.Equal(t, "4.8 kg", got.To.Load.String())
}
