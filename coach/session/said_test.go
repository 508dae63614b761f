package session_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/session"
)

// worded is a speech that has words.
type worded struct{ speech }

func (worded) Text(p coach.Phrase) string { return "«" + string(p.ID) + "»" }

// Every sentence is in the log at the sample it begins at, with its words and
// the person's own volume; what paces a set is not.
func TestSentencesAreLogged(t *testing.T) {
	r := &run{t: t, Session: session.New(programme(item("row")), worded{}, coach.SessionStartData{})}
	r.well("well") // the first question
	r.press(coach.Plus)
	r.well("symptoms")
	r.press(coach.Plus)
	r.well("tablets")
	r.press(coach.Plus)
	r.wait(60)
	r.press(coach.Plus) // in the warm-up it is the volume
	r.well("")
	type said struct {
		at coach.Samples
		id coach.PhraseID
	}
	var want, got []said
	for _, c := range r.out.Cues {
		if c.Phrase.ID != "" && !c.PacesSet() {
			want = append(want, said{c.At, c.Phrase.ID})
		}
	}
	louder := false
	for _, e := range r.out.Entries {
		switch d := e.Data.(type) {
		case *coach.VolumeData:
			louder = true
		case *coach.SaidData:
			got = append(got, said{e.Sample, d.Phrase})
			assert.Equal(t, "«"+string(d.Phrase)+"»", d.Text)
			assert.Equal(t, map[bool]float64{false: 0, true: 3}[louder], d.DB)
			assert.Equal(t, "K4", e.Tag)
		}
	}
	require.Greater(t, len(want), 15)
	assert.Equal(t, want, got)
}

// A repetition's tap is logged where it was heard, with its distance from the
// start of the nearest movement.
func TestTapsAreMeasuredFromTheNearestMovement(t *testing.T) {
	for name, c := range map[string]struct {
		after   float64 // seconds from the start of the second repetition
		late    coach.Samples
		wantOff int
	}{
		"on the lift":                    {0, 0, 0},
		"a little late":                  {0.25, 0, 250},
		"before the lower":               {1.875, 0, -125},
		"in the middle of the lower":     {3.5, 0, 1500},
		"before the third":               {4.9, 0, -100},
		"heard before it took effect":    {0.08, 80 * 48, 0},
		"heard before the lift":          {0.05, 80 * 48, -30},
		"rounded to the nearest":         {0, 25, -1},
		"rounded to the nearest, nearer": {0, 23, 0},
	} {
		t.Run(name, func(t *testing.T) {
			r := begin(t, programme(item("row")))
			r.intoSet(5 + c.after)
			at := r.Pos()
			r.Press(coach.Tap, at-c.late, &r.out)
			r.wait(6)
			var d *coach.RepData
			for _, e := range r.out.Entries {
				if rep, ok := e.Data.(*coach.RepData); ok && rep.Confirmed {
					d = rep
				}
			}
			require.NotNil(t, d)
			assert.Equal(t, at-c.late, *d.TapSample)
			assert.Equal(t, c.wantOff, *d.OffMS)
		})
	}
}
