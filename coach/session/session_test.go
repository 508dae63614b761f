package session_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/session"
)

// speech says every phrase in a time that depends on its id alone.
type speech struct{}

func (speech) Length(p coach.Phrase) coach.Samples {
	switch p.ID {
	case "":
		return 0
	case coach.SayCount, coach.SayCountIn, coach.SayVerb, coach.SayLastOne:
		return sec(0.5)
	case coach.SayCountVerb, coach.SayOutAs, coach.SayFreely, coach.SaySettle:
		return sec(1.2)
	}
	return sec(2)
}

func sec(s float64) coach.Samples {
	return coach.SessionRate.At(time.Duration(s * float64(time.Second)))
}

func pace() coach.Pace {
	return coach.Pace{Lift: 2 * time.Second, Lower: 3 * time.Second, Rest: 60 * time.Second,
		Settle: 5 * time.Second, CountIn: 3, BreathEvery: 3}
}

func item(id string) coach.Item {
	return coach.Item{Exercise: id, Dose: coach.Dose{Reps: 4, Sets: 1, Stage: "plain"}, Sides: coach.BothSides,
		First: coach.Lift, Position: coach.Standing, Pace: pace()}
}

func programme(items ...coach.Item) *coach.Programme {
	return &coach.Programme{Day: "2026-03-02", Approved: true, Tag: "K4", Guide: coach.GuideBoth, Part: coach.Whole,
		WarmUp: 300 * time.Second, CoolDown: 300 * time.Second, SitBefore: 60 * time.Second,
		Patience: coach.Patience{Repeat: 30 * time.Second, Look: 60 * time.Second, Abandon: 300 * time.Second},
		Items:    items}
}

// run drives a session by hand.
type run struct {
	t *testing.T
	*session.Session
	out session.Output
}

func begin(t *testing.T, p *coach.Programme) *run {
	t.Helper()
	return &run{t: t, Session: session.New(p, speech{}, coach.SessionStartData{})}
}

func (r *run) wait(seconds float64) { r.Advance(r.Pos()+sec(seconds), &r.out) }

func (r *run) press(b coach.Button) {
	at := r.Pos()
	r.Press(b, at, &r.out)
}

// until goes on until the session waits for something, and answers nothing.
func (r *run) until(waiting string) {
	r.t.Helper()
	for range 4000 {
		if r.Waiting().For == waiting {
			r.Advance(r.Waiting().Prompted+sec(0.5), &r.out)
			return
		}
		require.False(r.t, r.Done(), "the session ended before it waited for %s", waiting)
		r.wait(0.25)
	}
	r.t.Fatalf("never waited for %s", waiting)
}

// well answers everything as a well person would until the session waits for
// something, or to its end.
func (r *run) well(waiting string) {
	r.t.Helper()
	for range 100000 {
		w := r.Waiting().For
		if w == waiting || r.Done() {
			if waiting != "" {
				require.False(r.t, r.Done(), "the session ended before it waited for %s", waiting)
				r.Advance(r.Waiting().Prompted+sec(0.5), &r.out)
				return
			}
			if r.Done() {
				return
			}
		}
		switch w {
		case "":
			r.wait(0.25)
		case session.ForReady, session.ForEffort, coach.QuestionSymptom:
			r.Advance(r.Waiting().Prompted+sec(0.5), &r.out)
			r.press(coach.Tap)
		default:
			r.Advance(r.Waiting().Prompted+sec(0.5), &r.out)
			r.press(coach.Plus)
		}
	}
	r.t.Fatalf("never waited for %q", waiting)
}

// well1 goes on for a quarter of a second, answering as a well person would.
func (r *run) well1() {
	switch w := r.Waiting(); w.For {
	case "":
		r.wait(0.25)
	case session.ForReady, session.ForEffort, coach.QuestionSymptom:
		r.Advance(w.Prompted+sec(0.5), &r.out)
		r.press(coach.Tap)
	default:
		r.Advance(w.Prompted+sec(0.5), &r.out)
		r.press(coach.Plus)
	}
}

// intoSet goes on into the first set, some seconds after its first movement.
func (r *run) intoSet(seconds float64) {
	r.well(session.ForReady)
	r.press(coach.Tap)
	r.wait(5 + 3 + seconds)
}

func (r *run) story() []string {
	var s []string
	for _, e := range r.out.Entries {
		switch d := e.Data.(type) {
		case *coach.PressData, *coach.SaidData:
		case *coach.QuestionData:
			s = append(s, fmt.Sprintf("%s %s %s", e.Kind, d.ID, d.Answer))
		case *coach.SetEndData:
			s = append(s, fmt.Sprintf("%s %s %s %d/%d", e.Kind, e.Exercise, d.Ended, d.Led, d.Confirmed))
		case *coach.EffortData:
			s = append(s, fmt.Sprintf("%s %s", e.Kind, d.Reserve))
		case *coach.SessionEndData:
			s = append(s, fmt.Sprintf("%s %s", e.Kind, d.Outcome))
		case *coach.RestEndData:
			s = append(s, fmt.Sprintf("%s %s", e.Kind, d.Seconds))
		case *coach.NoAnswerData:
			s = append(s, fmt.Sprintf("%s %s", e.Kind, d.Waiting))
		case *coach.SkipData:
			s = append(s, fmt.Sprintf("%s %s %d", e.Kind, e.Exercise, d.Led))
		default:
			s = append(s, string(e.Kind))
		}
	}
	return s
}

func (r *run) cues(k coach.CueKind) []coach.Cue {
	var cs []coach.Cue
	for _, c := range r.out.Cues {
		if c.Kind == k {
			cs = append(cs, c)
		}
	}
	return cs
}

func (r *run) says(id coach.PhraseID) []coach.Cue {
	var cs []coach.Cue
	for _, c := range r.out.Cues {
		if c.Phrase.ID == id {
			cs = append(cs, c)
		}
	}
	return cs
}

func TestWholeSession(t *testing.T) {
	a, b := item("row"), item("squat")
	a.Sides = coach.EachSide
	b.Dose.Sets = 2
	b.First = coach.Lower
	r := begin(t, programme(a, b))
	r.well("")
	assert.Equal(t, []string{"session_start",
		"question well well", "question symptoms well", "question tablets well", "warm_up_end",
		"item_start", "set_start", "rep", "rep", "rep", "rep", "set_end row complete 4/0",
		"set_start", "rep", "rep", "rep", "rep", "set_end row complete 4/0", "effort 2-4", "rest_end 60.000",
		"item_start", "set_start", "rep", "rep", "rep", "rep", "set_end squat complete 4/0", "effort 2-4", "rest_end 60.000",
		"set_start", "rep", "rep", "rep", "rep", "set_end squat complete 4/0", "effort 2-4",
		"cool_down_end", "question closing well", "session_end completed"}, r.story())
	last := r.out.Cues[len(r.out.Cues)-1]
	assert.Equal(t, coach.CueDone, last.Kind)
	lifts := r.cues(coach.CueLift)
	assert.Len(t, lifts, 16)
	assert.Equal(t, coach.Left, lifts[0].Side)
	assert.Equal(t, coach.Right, lifts[4].Side)
	for i := 1; i < len(r.out.Cues); i++ {
		require.LessOrEqual(t, r.out.Cues[i-1].At, r.out.Cues[i].At)
	}
	for i := 1; i < len(r.out.Entries); i++ {
		require.LessOrEqual(t, r.out.Entries[i-1].Sample, r.out.Entries[i].Sample)
	}
}

func TestCountInFollowsTheTapBySettle(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.well(session.ForReady)
	tap := r.Pos()
	r.press(coach.Tap)
	r.wait(60)
	counts := r.cues(coach.CueCountIn)
	require.Len(t, counts, 3)
	for i, c := range counts {
		assert.Equal(t, tap+sec(5)+coach.Samples(i)*48000, c.At)
	}
	for i, c := range r.cues(coach.CueLift) {
		assert.Equal(t, tap+sec(8)+coach.Samples(i)*5*48000, c.At)
		assert.Equal(t, 2*coach.Samples(48000), c.Length)
	}
}

// Nothing depends on how far a session is advanced at a time.
func TestBlocksDoNotMatter(t *testing.T) {
	whole := begin(t, programme(item("row"), item("curl")))
	whole.intoSet(7)
	whole.press(coach.Hold)
	whole.wait(9)
	whole.press(coach.Hold)
	whole.well("")
	for _, block := range []coach.Samples{1, 37, 4096} {
		s := session.New(programme(item("row"), item("curl")), speech{}, coach.SessionStartData{})
		var out session.Output
		for _, e := range whole.out.Entries {
			d, ok := e.Data.(*coach.PressData)
			if !ok {
				continue
			}
			if block == 1 { // only around the presses; every sample of half an hour is too much
				s.Advance(max(s.Pos(), d.At-2000), &out)
			}
			for s.Pos() < d.At {
				s.Advance(min(d.At, s.Pos()+block), &out)
			}
			s.Press(d.Button, d.Heard, &out)
		}
		for !s.Done() {
			s.Advance(s.Pos()+4096, &out)
		}
		require.Equal(t, whole.out, out, "block %d", block)
	}
}

func TestCopyIsASnapshot(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.intoSet(6.3)
	copied := *r.Session
	var a, b session.Output
	r.Session.Advance(r.Pos()+sec(30), &a)
	copied.Advance(copied.Pos()+sec(30), &b)
	assert.Equal(t, a, b)
	assert.NotEmpty(t, a.Cues)
}

func TestNotWellNeverLeadsToExercise(t *testing.T) {
	for _, id := range []string{coach.QuestionWell, coach.QuestionSymptoms, coach.QuestionTablets} {
		r := begin(t, programme(item("row")))
		r.well(id)
		r.press(coach.Minus)
		r.wait(30)
		assert.True(t, r.Done(), id)
		assert.Equal(t, coach.NotStarted, r.Outcome(), id)
		assert.Empty(t, r.cues(coach.CueWarmUp), id)
		assert.Empty(t, r.cues(coach.CueLift), id)
		assert.Len(t, r.says(coach.SayNotWell), 1, id)
	}
}

// Plus does not agree to a question that has not been said; minus always counts.
func TestAnswersBeforeTheQuestionIsSaid(t *testing.T) {
	r := begin(t, programme(item("row")))
	for r.Waiting().For != coach.QuestionWell {
		r.wait(0.25)
	}
	r.wait(0.5)
	r.press(coach.Plus)
	assert.Equal(t, coach.QuestionWell, r.Waiting().For)
	r.press(coach.Minus)
	r.wait(20)
	assert.Equal(t, coach.NotStarted, r.Outcome())
}

func TestNobodyAnswers(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.until(coach.QuestionWell)
	prompted := r.Waiting().Prompted
	r.wait(900)
	asks := r.cues(coach.CueAsk)
	require.Len(t, asks, 2)
	assert.Equal(t, prompted+sec(30), asks[1].At)
	look := r.says(coach.SayNeedsLook)
	require.Len(t, look, 1)
	assert.Equal(t, prompted+sec(60), look[0].At)
	gone := r.says(coach.SayAbandoned)
	require.Len(t, gone, 1)
	assert.Equal(t, prompted+sec(360), gone[0].At)
	assert.Equal(t, []string{"session_start", "no_answer well", "session_end abandoned"}, r.story())
	assert.True(t, r.NeedsLook())
}

func TestAPressEndsTheLook(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.until(coach.QuestionWell)
	r.wait(70)
	assert.True(t, r.NeedsLook())
	r.press(coach.Plus)
	assert.False(t, r.NeedsLook())
	assert.Equal(t, coach.QuestionSymptoms, r.Waiting().For)
}

func TestStopInTheMiddleOfARepetition(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.intoSet(6.1)
	p := r.Pos()
	r.press(coach.Stop)
	r.well("")
	assert.Contains(t, r.out.Hush, p)
	for _, c := range r.out.Cues {
		if c.At >= p {
			assert.False(t, c.Kind.Pacing(), "%s at %d", c.Kind, c.At)
		}
	}
	stop := r.cues(coach.CueStop)
	require.Len(t, stop, 1)
	assert.Equal(t, p+sec(0.150), stop[0].At)
	say := r.says(coach.SayStop)
	require.Len(t, say, 1)
	assert.Greater(t, say[0].At, stop[0].At)
	story := r.story()
	assert.Equal(t, []string{"stop", "set_end row stop 1/0", "question symptom mistake", "session_end stopped"}, story[len(story)-4:])
	assert.Equal(t, coach.Stopped, r.Outcome())
	assert.True(t, r.Stopped())
}

func TestStopBeforeAnythingElse(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.press(coach.Stop)
	r.well("")
	assert.Equal(t, []string{"session_start", "stop", "question symptom mistake", "session_end stopped"}, r.story())
}

// The red button works everywhere, and nothing paces after it.
func TestStopAnywhere(t *testing.T) {
	a := item("row")
	a.Sides = coach.EachSide
	a.Position = coach.OnBack
	whole := begin(t, programme(a, item("curl")))
	whole.well("")
	for at := coach.Samples(1); at < whole.End(); at += sec(3.7) {
		r := begin(t, programme(a, item("curl")))
		for _, e := range whole.out.Entries {
			if d, ok := e.Data.(*coach.PressData); ok && d.At < at {
				r.Advance(d.At, &r.out)
				r.press(d.Button)
			}
		}
		r.Advance(at, &r.out)
		r.press(coach.Stop)
		r.wait(1200)
		require.Equal(t, coach.Stopped, r.Outcome(), "stop at %d", at)
		for _, c := range r.out.Cues {
			require.False(t, c.At >= at && c.Kind.Pacing(), "stop at %d: %s at %d", at, c.Kind, c.At)
		}
		starts, ends := 0, 0
		for _, e := range r.out.Entries {
			switch e.Kind {
			case coach.EntrySetStart:
				starts++
			case coach.EntrySetEnd:
				ends++
			}
		}
		require.Equal(t, starts, ends, "stop at %d", at)
	}
}

func TestTapTakesTheSymptomJustNamed(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.intoSet(1)
	r.press(coach.Stop)
	for len(r.says(coach.SaySymptom)) < 2 {
		r.wait(0.25)
	}
	r.wait(0.5)
	r.press(coach.Tap)
	assert.Contains(t, r.story(), "question symptom breath")
	r.wait(30)
	assert.Equal(t, coach.Stopped, r.Outcome())
}

func TestHelpIsComingOnlyWhenSomebodySaidSo(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.intoSet(1)
	r.HelpComing(coach.HelpData{By: "R. Okafor"}, &r.out)
	assert.Empty(t, r.says(coach.SayHelpComing))
	r.press(coach.Stop)
	r.wait(7)
	assert.Empty(t, r.says(coach.SayHelpComing))
	r.HelpComing(coach.HelpData{By: "R. Okafor"}, &r.out)
	r.HelpComing(coach.HelpData{By: "R. Okafor"}, &r.out)
	assert.Len(t, r.says(coach.SayHelpComing), 1)
}

func TestEnough(t *testing.T) {
	r := begin(t, programme(item("row"), item("curl")))
	r.intoSet(11)
	r.press(coach.Minus)
	r.until(coach.QuestionAllRight)
	r.press(coach.Plus)
	r.until(session.ForEffort)
	r.press(coach.Minus)
	r.wait(10)
	story := r.story()
	assert.Equal(t, []string{"set_end row enough 2/0", "question all_right well", "effort 0-1"}, story[len(story)-3:])
}

func TestEnoughAndNotAllRightIsAStop(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.intoSet(11)
	r.press(coach.Minus)
	r.until(coach.QuestionAllRight)
	r.press(coach.Minus)
	r.well("")
	story := r.story()
	assert.Equal(t, []string{"set_end row enough 2/0", "question all_right not_well", "stop",
		"question symptom mistake", "session_end stopped"}, story[len(story)-5:])
}

func TestPauseResumesAtTheBrokenRepetition(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.intoSet(12.5) // in the third repetition
	p := r.Pos()
	r.press(coach.Hold)
	r.wait(20)
	for _, c := range r.out.Cues {
		require.False(t, c.At >= p && c.Kind.Pacing(), "%s while paused", c.Kind)
	}
	r.press(coach.Hold)
	r.wait(12)
	counts := r.cues(coach.CueCountIn)
	require.Len(t, counts, 6)
	lifts := r.cues(coach.CueLift)
	next := lifts[3]
	assert.Equal(t, 3, next.Rep)
	assert.Equal(t, counts[3].At+sec(3), next.At)
	r.well("")
	assert.Contains(t, r.story(), "set_end row complete 4/0")
}

func TestPauseLeavesOut(t *testing.T) {
	r := begin(t, programme(item("row"), item("curl")))
	r.intoSet(6)
	r.press(coach.Hold)
	r.wait(5)
	r.press(coach.Minus)
	r.well("")
	story := r.story()
	assert.Contains(t, story, "skip row 1")
	assert.NotContains(t, story, "set_end row complete 4/0")
	assert.Contains(t, story, "set_end curl complete 4/0")
	assert.Equal(t, "session_end completed", story[len(story)-1])
}

func TestPauseEndsTheExercises(t *testing.T) {
	r := begin(t, programme(item("row"), item("curl")))
	r.intoSet(6)
	r.press(coach.Hold)
	r.wait(5)
	r.press(coach.Plus)
	r.well("")
	story := r.story()
	assert.NotContains(t, story, "set_end curl complete 4/0")
	assert.Equal(t, []string{"cool_down_end", "question closing well", "session_end finished_early"}, story[len(story)-3:])
	assert.Equal(t, coach.CueDone, r.out.Cues[len(r.out.Cues)-1].Kind)
}

func TestRestPausesAndSkipsTheNext(t *testing.T) {
	r := begin(t, programme(item("row"), item("curl"), item("squat")))
	r.intoSet(1)
	r.well(session.ForEffort)
	r.press(coach.Tap)
	for len(r.cues(coach.CueRest)) == 0 {
		r.wait(0.25)
	}
	r.wait(20)
	r.press(coach.Hold)
	r.wait(10)
	r.press(coach.Minus)
	r.well("")
	story := r.story()
	assert.Contains(t, story, "skip curl 0")
	assert.Contains(t, story, "set_end squat complete 4/0")
	assert.NotContains(t, story, "set_end curl complete 4/0")
}

func TestPausedRestGoesOnWhereItWas(t *testing.T) {
	r := begin(t, programme(item("row"), item("curl")))
	r.intoSet(1)
	r.well(session.ForEffort)
	r.press(coach.Tap)
	for len(r.cues(coach.CueRest)) == 0 {
		r.wait(0.25)
	}
	start := r.cues(coach.CueRest)[0].At
	r.Advance(start+sec(20), &r.out)
	r.press(coach.Hold)
	r.wait(15)
	r.press(coach.Hold)
	r.wait(60)
	end := r.cues(coach.CueRestEnd)
	require.Len(t, end, 1)
	resumed := sec(2) + sec(0.6) + sec(0.35) // chime, phrase and pause
	assert.InDelta(t, float64(start+sec(60)+sec(15)+resumed), float64(end[0].At), float64(sec(0.5)))
}

func TestTapsConfirm(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.intoSet(1)
	r.press(coach.Tap)
	r.press(coach.Tap)
	r.wait(5)
	r.press(coach.Tap)
	r.wait(5.5)
	r.press(coach.Tap)
	r.well("")
	assert.Contains(t, r.story(), "set_end row complete 4/3")
	for _, e := range r.out.Entries {
		if d, ok := e.Data.(*coach.SetEndData); ok {
			assert.Equal(t, "5.250", d.MeanS.String())
			assert.Equal(t, "0.354", d.SDS.String()) // √0.125 s
		}
	}
}

func TestEffortCanBeChanged(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.well(session.ForEffort)
	r.press(coach.Plus)
	r.wait(1)
	r.press(coach.Minus)
	r.wait(8)
	assert.Contains(t, r.story(), "effort 0-1")
	assert.NotContains(t, r.story(), "effort 5+")
}

// Whoever leans on the buttons keeps no session from going on.
func TestEffortIsSettledHoweverOftenItIsChanged(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.well(session.ForEffort)
	for n := range 40 {
		r.press([]coach.Button{coach.Plus, coach.Minus}[n%2])
		r.wait(1)
		if slices.Contains(r.story(), "effort 5+") || slices.Contains(r.story(), "effort 0-1") {
			return
		}
	}
	t.Fatal("the question about effort never ended")
}

func TestMatEndsSitting(t *testing.T) {
	a, b := item("squat"), item("bridge")
	b.Position = coach.OnBack
	r := begin(t, programme(a, b))
	r.well("")
	sits := r.says(coach.SayRestSit)
	require.Len(t, sits, 1)
	rests := r.cues(coach.CueRest)
	assert.Equal(t, sec(60), rests[len(rests)-1].Length)
	assert.Less(t, rests[len(rests)-1].At, r.cues(coach.CueCoolDown)[0].At)
}

func TestParts(t *testing.T) {
	for _, tc := range []struct {
		part                    coach.Part
		asks                    []string
		warm, cool, closing     bool
		arrival                 bool
		warmUpSeconds, coolDown time.Duration
	}{
		{part: coach.Whole, asks: []string{"well", "symptoms", "tablets"}, warm: true, cool: true, closing: true},
		{part: coach.First, asks: []string{"well", "symptoms", "tablets"}, warm: true},
		{part: coach.Middle, asks: []string{"symptoms"}, arrival: true},
		{part: coach.Last, asks: []string{"symptoms"}, cool: true, closing: true, arrival: true},
	} {
		t.Run(string(tc.part), func(t *testing.T) {
			p := programme(item("row"))
			p.Part = tc.part
			r := begin(t, p)
			r.well("")
			var asked []string
			for _, e := range r.out.Entries {
				if d, ok := e.Data.(*coach.QuestionData); ok && d.ID != coach.QuestionClosing {
					asked = append(asked, d.ID)
				}
			}
			assert.Equal(t, tc.asks, asked)
			assert.Equal(t, tc.warm, len(r.cues(coach.CueWarmUp)) == 1)
			assert.Equal(t, tc.cool, len(r.cues(coach.CueCoolDown)) == 1)
			assert.Equal(t, tc.closing, len(r.says(coach.AskClosing)) == 1)
			if tc.arrival {
				end := r.cues(coach.CueRestEnd)
				require.Len(t, end, 1)
				assert.Equal(t, sec(60), end[0].At, "the rest counts from the arrival")
				assert.Contains(t, r.story(), "rest_end 60.000")
			}
			assert.Equal(t, coach.Completed, r.Outcome())
		})
	}
}

func TestVolumeOnlyWhereNothingIsAsked(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.well(session.ForReady)
	r.press(coach.Plus)
	assert.Equal(t, 3, r.Volume())
	for range 20 {
		r.press(coach.Minus)
	}
	assert.Equal(t, -18, r.Volume())
	r.well(session.ForEffort)
	r.press(coach.Hold) // asked again, so plus is too early to be an answer
	r.press(coach.Plus)
	assert.Equal(t, -18, r.Volume())
}

func TestHoldSaysItAgain(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.wait(1)
	r.press(coach.Hold)
	r.wait(3)
	assert.Len(t, r.says(coach.SayWelcome), 2)
	r.well(session.ForReady)
	r.press(coach.Hold) // waiting in silence: pause
	assert.Equal(t, session.ForResume, r.Waiting().For)
}

func TestInterruptHolds(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.intoSet(3)
	r.Interrupt(coach.FaultData{Part: "sound", Detail: "the device went away"}, "", &r.out)
	assert.Equal(t, session.ForResume, r.Waiting().For)
	p := r.Pos()
	r.wait(20)
	for _, c := range r.out.Cues {
		require.False(t, c.At >= p && c.Kind.Pacing(), "%s while interrupted", c.Kind)
	}
}

func BenchmarkWholeSession(b *testing.B) {
	for b.Loop() {
		s := session.New(programme(item("row"), item("curl")), speech{}, coach.SessionStartData{})
		var out session.Output
		for !s.Done() {
			s.Advance(s.Pos()+4800, &out)
			if w := s.Waiting(); w.For == session.ForReady || w.For == session.ForEffort {
				s.Press(coach.Tap, s.Pos(), &out)
			} else if w.For != "" {
				s.Press(coach.Plus, s.Pos(), &out)
			}
			out.Reset()
		}
	}
}

func TestGoesOnAfterAPowerCut(t *testing.T) {
	for _, warmUp := range []bool{true, false} {
		r := begin(t, programme(item("row"), item("curl"), item("squat")))
		r.GoOn(1, warmUp)
		r.well("")
		story := r.story()
		assert.Contains(t, story, "question well well")
		assert.Equal(t, warmUp, len(r.cues(coach.CueWarmUp)) == 1)
		assert.NotContains(t, story, "set_end row complete 4/0")
		assert.Contains(t, story, "set_end curl complete 4/0")
		assert.Equal(t, "session_end completed", story[len(story)-1])
	}
}

// What is said about an exercise before each of its sets: all of it before the
// first, no set-up again before the second; and to a person who knows the
// exercise only the name, how many, the load and the one caution.
func TestWhatIsSaidBeforeASet(t *testing.T) {
	told := func(words coach.Words) (bySet [][]coach.PhraseID) {
		it := item("row")
		it.Dose.Sets, it.Words, it.Last = 2, words, coach.Done{Reps: 3}
		r := begin(t, programme(it))
		r.well("")
		var said []coach.PhraseID
		for _, c := range r.out.Cues {
			switch {
			case c.Kind == coach.CueReady:
				bySet, said = append(bySet, said), nil
			case c.Kind == coach.CueSay && c.Exercise != "":
				said = append(said, c.Phrase.ID)
			case c.Kind != coach.CueSay:
				said = nil
			}
		}
		return bySet
	}
	full := []coach.PhraseID{coach.SayExercise, coach.SayHowMany, coach.SayLoad, coach.SayLastTime,
		coach.SaySetUp, coach.SayCare, coach.SayOutAs, coach.SayFreely}
	assert.Equal(t, [][]coach.PhraseID{full, {coach.SayNextSet}}, told(""))
	assert.Equal(t, told(""), told(coach.WordsFull))
	brief := []coach.PhraseID{coach.SayExercise, coach.SayHowMany, coach.SayLoad, coach.SayCare}
	assert.Equal(t, [][]coach.PhraseID{brief, {coach.SayNextSet}}, told(coach.WordsBrief))
}

func TestANoteIsSpokenAfterTheWelcome(t *testing.T) {
	p := programme(item("row"))
	p.Note = "Mind the new mat."
	r := begin(t, p)
	r.until(coach.QuestionWell)
	require.GreaterOrEqual(t, len(r.out.Cues), 2)
	assert.Equal(t, coach.SayWelcome, r.out.Cues[0].Phrase.ID)
	assert.Equal(t, coach.Phrase{ID: coach.SayNote, Name: "Mind the new mat."}, r.out.Cues[1].Phrase)
}

// A tap at the very beginning of the next name still means the one before.
func TestALateTapTakesTheSymptomBefore(t *testing.T) {
	r := begin(t, programme(item("row")))
	r.intoSet(1)
	r.press(coach.Stop)
	for len(r.says(coach.SaySymptom)) < 2 {
		r.wait(0.02)
	}
	r.press(coach.Tap)
	assert.Contains(t, r.story(), "question symptom chest")
}

// Leaving out what comes after a rest, in every shape of items, never takes
// back what was done and never loses its way.
func TestLeavingOutOfARest(t *testing.T) {
	each, both := item("row"), item("curl")
	each.Sides = coach.EachSide
	two := item("squat")
	two.Dose.Sets = 2
	for _, items := range [][]coach.Item{{each, both, both}, {both, each, two}, {two, each}, {each, two, both}} {
		for _, then := range []coach.Button{coach.Minus, coach.Plus} {
			for rest := range 3 {
				r := begin(t, programme(items...))
				for len(r.cues(coach.CueRest)) <= rest && !r.Done() {
					r.well1()
				}
				if r.Done() {
					continue
				}
				r.wait(30)
				r.press(coach.Hold)
				r.wait(5)
				done := 0
				for _, s := range r.story() {
					if strings.HasPrefix(s, "set_end") {
						done++
					}
				}
				r.press(then)
				r.well("")
				skipped := map[string]bool{}
				for _, e := range r.out.Entries {
					if e.Kind == coach.EntrySkip {
						skipped[fmt.Sprint(e.Item)] = true
					}
				}
				assert.LessOrEqual(t, len(skipped), 1)
				assert.NotEmpty(t, r.Outcome())
			}
		}
	}
}

// Nothing is said over anything else, whoever presses what.
func TestPressesNeverMakeSpeechOverlap(t *testing.T) {
	dice := rand.New(rand.NewPCG(7, 7))
	for range 60 {
		r := begin(t, programme(item("row"), item("curl")))
		for range 400 {
			r.wait(dice.Float64() * 6)
			if r.Done() {
				break
			}
			switch w := r.Waiting().For; {
			case dice.IntN(3) > 0 && w != "":
				r.Advance(max(r.Pos(), r.Waiting().Prompted), &r.out)
				r.press([]coach.Button{coach.Tap, coach.Plus}[dice.IntN(2)])
			default:
				r.press([]coach.Button{coach.Tap, coach.Plus, coach.Minus, coach.Hold}[dice.IntN(4)])
			}
		}
		hushed := map[coach.Samples]bool{}
		for _, h := range r.out.Hush {
			hushed[h] = true
		}
		var until coach.Samples
		for _, c := range r.out.Cues {
			n := speech{}.Length(c.Phrase)
			if n == 0 {
				continue
			}
			for h := range hushed {
				if h <= c.At && h > until-sec(60) && until > h {
					until = h
				}
			}
			require.GreaterOrEqual(t, c.At, until, "%s %s", c.Kind, c.Phrase.ID)
			until = c.At + n
		}
	}
}

// How to answer is said with the first question, and whenever one is asked
// again; after "enough" always.
func TestTheHintComesOnce(t *testing.T) {
	r := begin(t, programme(item("row")))
	hints := func() int { return len(r.says(coach.HintYesNo)) }
	r.well(coach.QuestionTablets)
	assert.Equal(t, 1, hints())
	r.press(coach.Hold)
	r.until(coach.QuestionTablets)
	r.wait(3)
	assert.Equal(t, 2, hints(), "asked again by hold")
	r.wait(31)
	assert.Equal(t, 3, hints(), "asked again after silence")
	r.intoSet(3)
	r.press(coach.Minus)
	r.until(coach.QuestionAllRight)
	r.wait(3)
	assert.Equal(t, 4, hints())
	r.well("")
	assert.Equal(t, 4, hints())
}

// The pause in a warm-up says what plus does there; in a cool-down plus does
// nothing.
func TestWhatAPauseOffers(t *testing.T) {
	for kind, want := range map[coach.CueKind]string{coach.CueWarmUp: "warm-up", coach.CueCoolDown: "plain"} {
		r := begin(t, programme(item("row")))
		for len(r.cues(kind)) == 0 {
			r.well1()
		}
		r.wait(60)
		r.press(coach.Hold)
		r.wait(1)
		r.press(coach.Hold) // said again where it was speaking
		r.wait(3)
		said := r.says(coach.SayPaused)
		if assert.NotEmpty(t, said, kind) {
			assert.Equal(t, want, said[0].Phrase.Name)
		}
	}
}
