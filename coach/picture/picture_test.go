package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/session"
)

// speech says a phrase in a time that depends on its id alone.
type speech struct{}

func (speech) Length(p coach.Phrase) coach.Samples {
	switch p.ID {
	case "":
		return 0
	case coach.SayCount, coach.SayCountIn, coach.SayVerb, coach.SayLastOne:
		return coach.SessionRate.At(500 * time.Millisecond)
	case coach.SaySettle, coach.SayOutAs, coach.SayFreely:
		return coach.SessionRate.At(1200 * time.Millisecond)
	}
	return coach.SessionRate.At(3 * time.Second)
}

func says(p coach.Phrase) string { return fmt.Sprintf("<%s & %d>", p.ID, p.N) }

func item(id string) coach.Item {
	return coach.Item{Exercise: id, Dose: coach.Dose{Load: coach.Dumbbell(2500, coach.Kilogram), Reps: 6, Sets: 1, Stage: "plain"},
		Sides: coach.BothSides, First: coach.Lift, Position: coach.Standing,
		Pace: coach.Pace{Lift: 2 * time.Second, Lower: 3 * time.Second, Rest: 60 * time.Second,
			Settle: 5 * time.Second, CountIn: 3, BreathEvery: 3}}
}

func programme(part coach.Part) *coach.Programme {
	a, b, c := item("row"), item("half-squat"), item("biceps-curl")
	a.Sides = coach.EachSide
	b.First, b.Dose.Sets, b.Pace.Bottom = coach.Lower, 2, time.Second
	c.Sides = coach.Alternating
	p := &coach.Programme{Day: "2026-03-02", Clinic: "Quayside Heart Health", Approved: true, Tag: "K4",
		Guide: coach.GuideBoth, Part: part, SitBefore: 60 * time.Second,
		Patience: coach.Patience{Repeat: 30 * time.Second, Look: 60 * time.Second, Abandon: 300 * time.Second},
		Items:    []coach.Item{a, b, c}}
	if part.HasWarmUp() {
		p.WarmUp = 300 * time.Second
	}
	if part.HasCoolDown() {
		p.CoolDown = 300 * time.Second
	}
	return p
}

// story is a way a session can go: presses by second, besides the answers of
// a person who is well.
type story struct {
	name    string
	part    coach.Part
	absent  bool
	presses map[int]coach.Button
	lost    int // the second at which the sound stops; 0 for never
	outcome coach.Outcome
}

var stories = []story{
	{name: "whole", part: coach.Whole, outcome: coach.Completed},
	{name: "first", part: coach.First, outcome: coach.Completed},
	{name: "middle", part: coach.Middle, outcome: coach.Completed},
	{name: "last", part: coach.Last, outcome: coach.Completed},
	{name: "absent", part: coach.Whole, absent: true, outcome: coach.Abandoned},
	{name: "not well", part: coach.Whole, presses: map[int]coach.Button{6: coach.Minus}, outcome: coach.NotStarted},
	{name: "stop in a set", part: coach.Whole, presses: map[int]coach.Button{366: coach.Tap, 376: coach.Stop}, outcome: coach.Stopped},
	{name: "stop in the warm-up", part: coach.Whole, presses: map[int]coach.Button{100: coach.Stop}, outcome: coach.Stopped},
	{name: "taps, a pause and volume", part: coach.Whole, outcome: coach.Completed, presses: map[int]coach.Button{
		100: coach.Plus, 101: coach.Plus, 102: coach.Plus, 366: coach.Tap, 371: coach.Tap, 376: coach.Hold, 396: coach.Hold}},
	{name: "left out", part: coach.Whole, presses: map[int]coach.Button{376: coach.Hold, 386: coach.Minus}, outcome: coach.Completed},
	{name: "ended early", part: coach.Whole, presses: map[int]coach.Button{376: coach.Hold, 386: coach.Plus}, outcome: coach.FinishedEarly},
	{name: "paused and gone", part: coach.Whole, presses: map[int]coach.Button{376: coach.Hold}, outcome: coach.Abandoned},
	{name: "enough", part: coach.Whole, presses: map[int]coach.Button{376: coach.Minus}, outcome: coach.Completed},
	{name: "enough and not well", part: coach.Whole, presses: map[int]coach.Button{376: coach.Minus, 383: coach.Minus}, outcome: coach.Stopped},
	{name: "sound lost", part: coach.Whole, lost: 376, presses: map[int]coach.Button{396: coach.Hold}, outcome: coach.Completed},
}

// play runs the real session through a story.
func play(t testing.TB, prog *coach.Programme, st story) session.Output {
	t.Helper()
	s := session.New(prog, speech{}, coach.SessionStartData{})
	var out session.Output
	for sec := 1; !s.Done(); sec++ {
		require.Less(t, sec, 7200, "the session never ends")
		s.Advance(coach.Samples(sec)*coach.Samples(coach.SessionRate), &out)
		if sec == st.lost {
			s.Interrupt(coach.FaultData{Part: "sound", Detail: "the device went away"}, "", &out)
		}
		w := s.Waiting()
		b, ok := st.presses[sec]
		switch {
		case ok:
		case st.absent || w.For == "" || w.For == session.ForResume || s.Pos() < w.Prompted+24000:
			continue
		case w.For == session.ForReady || w.For == session.ForEffort || w.For == coach.QuestionSymptom:
			b = coach.Tap
		default:
			b = coach.Plus
		}
		s.Press(b, s.Pos(), &out)
	}
	require.Equal(t, st.outcome, s.Outcome())
	return out
}

func draw(t *testing.T, prog *coach.Programme, out session.Output) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, Draw(&b, prog, out.Cues, out.Entries, says))
	return b.String()
}

// texts reads an SVG to its end and returns the content of its text and
// title elements.
func texts(t *testing.T, svg string) (shown, told []string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	var in string
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return shown, told
		}
		require.NoError(t, err)
		switch v := tok.(type) {
		case xml.StartElement:
			in = v.Name.Local
		case xml.EndElement:
			in = ""
		case xml.CharData:
			switch in {
			case "text":
				shown = append(shown, string(v))
			case "title":
				told = append(told, string(v))
			}
		}
	}
}

const arrowHead = "l-4 -7h8z"

func TestEveryPartAndOutcome(t *testing.T) {
	for _, st := range stories {
		t.Run(st.name, func(t *testing.T) {
			prog := programme(st.part)
			out := play(t, prog, st)
			svg := draw(t, prog, out)
			shown, told := texts(t, svg)
			assert.Contains(t, told[0], "Quayside Heart Health · 2026-03-02 · K4")
			assert.Contains(t, told[0], outcomeWords(st.outcome))
			assert.Contains(t, svg, "<desc")
			assert.Contains(t, shown, Caution)
			n := map[coach.EntryKind]int{}
			for _, e := range out.Entries {
				n[e.Kind]++
			}
			assert.Equal(t, n[coach.EntryPress]+1, strings.Count(svg, arrowHead), "presses, and one in the legend")
			assert.Equal(t, n[coach.EntrySetStart], matching(shown, `^set \d of \d`), "sets")
			assert.Equal(t, n[coach.EntryRep], matching(told, `^repetition`)-matching(told, `broken off$`), "repetitions led")
			assert.Equal(t, 1+n[coach.EntryStop], matching(shown, `^STOP$`), "stops, and one in the legend")
			assert.Equal(t, n[coach.EntryItemStart], matching(shown, `^\d of 3 · [a-z ]+$`), "exercises")
			for _, e := range out.Entries {
				if d, ok := e.Data.(*coach.QuestionData); ok {
					assert.Positive(t, matching(shown, `\? `+regexp.QuoteMeta(answerWords(d.Answer))+`$`), "%s %s", d.ID, d.Answer)
				}
			}
		})
	}
}

func matching(ss []string, pattern string) int {
	re, n := regexp.MustCompile(pattern), 0
	for _, s := range ss {
		if re.MatchString(s) {
			n++
		}
	}
	return n
}

// What each button did stands beside it.
func TestPressesSayWhatTheyDid(t *testing.T) {
	for name, want := range map[string][]string{
		"taps, a pause and volume": {"plus ×3: volume +6 dB", "hold: pause", "hold: go on", "tap: begin"},
		"left out":                 {"minus: leave out row"},
		"ended early":              {"plus: leave out row, end the exercises", "Planned and not begun: 2 half squat · 3 biceps curl"},
		"enough":                   {"minus: enough", "all well? yes"},
		"enough and not well":      {"minus: stop", "all well? no"},
		"stop in a set":            {"stop", "after the stop", "(4)"},
		"sound lost":               {"sound fault: the device went away", "pause"},
		"absent":                   {"feeling well? not answered", "asked again", "no answer: needs a look"},
		"last":                     {"nothing felt since? yes", "felt well throughout? yes"},
	} {
		for _, st := range stories {
			if st.name == name {
				shown, _ := texts(t, draw(t, programme(st.part), play(t, programme(st.part), st)))
				for _, w := range want {
					assert.Contains(t, shown, w, name)
				}
			}
		}
	}
}

func TestSameBytesAndPlainNumbers(t *testing.T) {
	number := regexp.MustCompile(`^-?\d+(\.\d)?$`)
	attr := regexp.MustCompile(` (?:x|y|x1|x2|y1|y2|cx|cy|width|height)="([^"]*)"`)
	for _, st := range stories {
		out := play(t, programme(st.part), st)
		svg := draw(t, programme(st.part), out)
		require.Equal(t, svg, draw(t, programme(st.part), out), st.name)
		for _, m := range attr.FindAllStringSubmatch(svg, -1) {
			require.Regexp(t, number, m[1], st.name)
		}
	}
}

func TestTextIsEscaped(t *testing.T) {
	prog := programme(coach.Whole)
	prog.Clinic, prog.Tag = `<script>"&'`+"\x00", "]]>"
	prog.Items[0].Exercise, prog.Items[0].Dose.Stage = "<row>&", `"/><x`
	svg := draw(t, prog, play(t, prog, story{name: "whole", outcome: coach.Completed}))
	shown, told := texts(t, svg)
	assert.NotContains(t, svg, "<script")
	assert.NotContains(t, svg, "<row")
	assert.Contains(t, told[0], "<script>\"&'�")
	assert.Contains(t, shown, "1 of 3 · <row>&")
	assert.Positive(t, matching(told, "^<welcome & 0>$"), "phrases are escaped too")
}

// A record that breaks off, at any place, is drawn as far as it goes.
func TestRecordThatBreaksOff(t *testing.T) {
	prog := programme(coach.Whole)
	out := play(t, prog, stories[8])
	for n := 0; n < len(out.Entries)-1; n++ {
		at := out.Entries[n].Sample
		part := session.Output{Entries: out.Entries[:n]}
		for _, c := range out.Cues {
			if c.At < at {
				part.Cues = append(part.Cues, c)
			}
		}
		_, told := texts(t, draw(t, prog, part))
		require.Contains(t, told[0], "breaks off")
	}
}

func TestWriteErrorIsReturned(t *testing.T) {
	prog := programme(coach.Whole)
	out := play(t, prog, stories[0])
	assert.ErrorIs(t, Draw(full{}, prog, out.Cues, out.Entries, says), errFull)
}

var errFull = errors.New("no room")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }

// An independent reader of SVG draws it.
func TestIndependentReader(t *testing.T) {
	tool, err := exec.LookPath("rsvg-convert")
	if err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatal("rsvg-convert is required and not installed")
		}
		t.Skip("rsvg-convert is not installed")
	}
	for _, st := range stories {
		cmd := exec.Command(tool, "-o", filepath.Join(t.TempDir(), "out.png"))
		cmd.Stdin = strings.NewReader(draw(t, programme(st.part), play(t, programme(st.part), st)))
		said, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s: %s", st.name, said)
		assert.Empty(t, string(said), st.name)
	}
}
