package journal_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// everyKind has one entry of each kind that carries data, and one without.
func everyKind() []coach.Entry {
	tapped, off := coach.Samples(96_000), -120
	mean := coach.Seconds(5 * time.Second)
	data := []struct {
		kind coach.EntryKind
		data any
	}{
		{coach.EntrySessionStart, &coach.SessionStartData{Plan: "p", Protocol: "q", Voice: "v", Program: "r", Speed: "1", Part: coach.Whole}},
		{coach.EntryPress, &coach.PressData{Button: coach.Tap, At: 48_000, Heard: 47_000}},
		{coach.EntryQuestion, &coach.QuestionData{ID: coach.QuestionWell, Answer: coach.AnswerWell, AfterS: coach.Seconds(500 * time.Millisecond)}},
		{coach.EntryNoAnswer, &coach.NoAnswerData{Waiting: "ready"}},
		{coach.EntryWarmUpEnd, nil},
		{coach.EntryItemStart, &coach.ItemStartData{Load: coach.Dumbbell(2500, coach.Kilogram), Reps: 10, Sets: 1, Stage: "holding-on"}},
		{coach.EntryRep, &coach.RepData{Confirmed: true, TapSample: &tapped, OffMS: &off}},
		{coach.EntrySetEnd, &coach.SetEndData{Led: 10, Confirmed: 9, Ended: coach.EndedComplete, MeanS: &mean}},
		{coach.EntryEffort, &coach.EffortData{Reserve: coach.ReserveFew}},
		{coach.EntryRestEnd, &coach.RestEndData{Seconds: coach.Seconds(time.Minute)}},
		{coach.EntryRelease, &coach.ReleaseData{By: "R. Okafor <desk>"}},
		{coach.EntrySaid, &coach.SaidData{Phrase: coach.SayStop, Text: "Stop. Put the weight down.", DB: -3.5}},
		{coach.EntryLink, &coach.LinkData{Desk: "found", GapS: &mean}},
		{coach.EntryFault, &coach.FaultData{Part: "sound", Detail: "gone & back"}},
		{coach.EntrySessionEnd, &coach.SessionEndData{Outcome: coach.Completed}},
	}
	var out []coach.Entry
	for i, d := range data {
		out = append(out, coach.Entry{Sample: coach.Samples(i) * 48_000, Kind: d.kind, Tag: "K4",
			Item: 1, Exercise: "heel-raise", Set: 1, Rep: i, Data: d.data})
	}
	return out
}

func stamped() []coach.Entry {
	start := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	stamp := journal.NewStamp(journal.OfflineEpoch, journal.OfflineBoot, journal.OfflineSession, &start, 0)
	out := []coach.Entry{stamp.Start(coach.StartData{})}
	for _, e := range everyKind() {
		out = append(out, stamp.Next(e))
	}
	return out
}

func TestWhatIsWrittenIsReadBack(t *testing.T) {
	var b bytes.Buffer
	w := journal.NewWriter(&b)
	for _, e := range stamped() {
		require.NoError(t, w.Write(e))
	}
	got, faults := journal.Read("j.jsonl", &b)
	assert.Empty(t, faults)
	assert.Equal(t, stamped(), got)
}

// The contract's fields, in its order, with null for what is not known.
func TestALineHasTheContractsForm(t *testing.T) {
	line, err := journal.Line(coach.Entry{Epoch: "e", Seq: 7, Boot: "b", MonoNS: 5, Kind: coach.EntryWarmUpEnd, Tag: "K4"})
	require.NoError(t, err)
	assert.Equal(t, `{"epoch":"e","seq":7,"boot":"b","mono_ns":5,"wall":null,"sample":0,"session":"",`+
		`"kind":"warm_up_end","tag":"K4","item":0,"exercise":"","set":0,"rep":0,"side":"","data":null}`, string(line))
}

func TestAStampNumbersAndDates(t *testing.T) {
	es := stamped()
	for i, e := range es {
		assert.EqualValues(t, i+1, e.Seq)
	}
	assert.Equal(t, coach.EntryStart, es[0].Kind)
	assert.Empty(t, es[0].Session, "the program starts outside a session")
	assert.EqualValues(t, 2_000_000_000, es[3].MonoNS, "two seconds of samples")
	assert.Equal(t, time.Date(2026, 3, 2, 9, 0, 2, 0, time.UTC), *es[3].Wall)

	untrusted := journal.NewStamp("e", "b", "s", nil, 40).Next(coach.Entry{Sample: 48_000})
	assert.Nil(t, untrusted.Wall)
	assert.EqualValues(t, 1_000_000_040, untrusted.MonoNS)
}

func TestAReaderSaysWhichLineIsWrong(t *testing.T) {
	good := `{"epoch":"e","seq":1,"kind":"press","data":{"button":"tap","at":1,"heard":1}}`
	for _, c := range []struct {
		name, line, want string
		entries          int
	}{
		{"not JSON", "seq 2", "j:2: not an entry; a journal line is one JSON object", 2},
		{"an array", "[1]", "j:2: not an entry; a journal line is one JSON object", 2},
		{"a torn line", good[:20], "j:2: unexpected end of JSON input", 2},
		{"two objects", good + good, "j:2: invalid character '{' after top-level value", 2},
		{"no kind", `{"epoch":"e","seq":2}`, "j:2: an entry without a kind", 2},
		{"not text", "{\"kind\":\"\xff\"}", "j:2: not UTF-8 text; a journal line is one JSON object in UTF-8", 2},
		{"no number", `{"epoch":"e","kind":"press"}`, "j:2: warning: seq: 0; entries are numbered from 1 in an epoch", 3},
		{"no epoch", `{"seq":2,"kind":"press"}`, "j:2: warning: epoch: empty; every entry names the epoch it was written in", 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, faults := journal.Read("j", strings.NewReader(good+"\n"+c.line+"\n\n"+good+"\n"))
			assert.Len(t, got, c.entries)
			require.Len(t, faults, 1)
			assert.Equal(t, c.want, faults[0].String())
		})
	}
}

func TestAReaderKeepsAKindItDoesNotKnow(t *testing.T) {
	got, faults := journal.Read("j", strings.NewReader(`{"epoch":"e","seq":1,"kind":"later","wall":"2026-03-02T10:00:00+01:00","data":{"n":2}}`))
	assert.Empty(t, faults)
	require.Len(t, got, 1)
	assert.Equal(t, map[string]any{"n": 2.0}, got[0].Data)
	assert.Equal(t, time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), *got[0].Wall, "in UTC")
}

// A file that ends in the middle of its last line, wherever that is.
func TestAFileTornInItsLastLine(t *testing.T) {
	var b bytes.Buffer
	for _, e := range stamped() {
		require.NoError(t, journal.NewWriter(&b).Write(e))
	}
	whole := bytes.TrimSuffix(b.Bytes(), []byte("\n"))
	last := bytes.LastIndexByte(whole, '\n') + 1
	for size := last + 1; size < len(whole); size++ {
		got, faults := journal.Read("j", bytes.NewReader(whole[:size]))
		require.Equal(t, stamped()[:len(stamped())-1], got, "torn at %d", size)
		require.Len(t, faults, 1)
		require.Equal(t, len(stamped()), faults[0].Line)
	}
}

func TestAReaderStopsWhereItMust(t *testing.T) {
	long := `{"epoch":"e","seq":1,"kind":"press"}` + "\n" + strings.Repeat("x", journal.MaxLine+3)
	got, faults := journal.Read("j", strings.NewReader(long))
	assert.Len(t, got, 1)
	require.Len(t, faults, 1)
	assert.Equal(t, fmt.Sprintf("j:2: longer than %d bytes; nothing after it was read", journal.MaxLine), faults[0].String())

	_, faults = journal.Read("j", iotest.ErrReader(errors.New("card gone")))
	require.Len(t, faults, 1)
	assert.Equal(t, "j:1: reading: card gone", faults[0].String())
}

func FuzzRead(f *testing.F) {
	for _, e := range stamped() {
		line, err := journal.Line(e)
		require.NoError(f, err)
		f.Add(line)
	}
	f.Add([]byte("{\"kind\":\"rep\",\"data\":{\"tap_sample\":null}}\r\n\n[]"))
	f.Add([]byte(`{"kind":"set_end","data":{"mean_s":1e300}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		once, faults := journal.Read("f", bytes.NewReader(b))
		for _, fault := range faults {
			assert.Positive(t, fault.Line)
			assert.NotEmpty(t, fault.Message)
		}
		// What was read can be written, and then reads the same for good.
		var first, second bytes.Buffer
		for _, e := range once {
			require.NoError(t, journal.NewWriter(&first).Write(e))
		}
		again, _ := journal.Read("f", bytes.NewReader(first.Bytes()))
		require.Len(t, again, len(once))
		for _, e := range again {
			require.NoError(t, journal.NewWriter(&second).Write(e))
		}
		assert.Equal(t, first.String(), second.String())
	})
}

func TestALogIsTakenAsItIs(t *testing.T) {
	line := []byte(`{"epoch":"e","seq":3,"boot":"","mono_ns":1,"wall":null,"sample":0,"session":"s","kind":"effort","tag":"K4","item":1,"exercise":"","set":0,"rep":0,"side":"","data":"in a later shape"}`)
	_, err := journal.ParseLine(line)
	require.Error(t, err, "a file that people hand in is read strictly")
	e, err := journal.ParseAnyLine(line)
	require.NoError(t, err, "what a station logged is never stuck because one end is older")
	require.Equal(t, coach.EntryEffort, e.Kind)
	require.Equal(t, "K4", e.Tag)
	require.Nil(t, e.Data)
	_, err = journal.ParseAnyLine([]byte(`{"kind":7}`))
	require.Error(t, err)
}
