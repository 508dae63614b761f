package station_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio/speech"
	pack "evenbell/audio/voice"
	"evenbell/coach"
	"evenbell/coach/link"
	"evenbell/coach/plan"
	"evenbell/coach/station"
	"evenbell/hardware"
)

// recordedLine is what a desk makes of somebody's recording of some words: a
// rising whistle, which nothing else in a session is like.
func recordedLine(t *testing.T, text string, seconds float64) link.Recording {
	t.Helper()
	pcm := make([]int16, int(seconds*speech.Rate))
	for i := range pcm {
		at := float64(i) / speech.Rate
		pcm[i] = int16(9000 * math.Sin(2*math.Pi*(500*at+900*at*at)) * math.Sin(math.Pi*at/seconds))
	}
	line, err := speech.Line(speech.WAV(pcm), 15*speech.Rate)
	require.NoError(t, err)
	return link.Recording{Language: "en", Text: text, Sound: speech.WAV(line)}
}

// likeness is how much some sound is like a stretch of a longer one at its best
// place there: 1 where it is the same but for its loudness. It looks roughly
// first, and then closely around the best place.
func likeness(in []int16, of []int16, from, to int) float64 {
	_, at := mostAlike(in, of, max(from, 0), to, 6, 29)
	best, _ := mostAlike(in, of, max(at-6, 0), at+7, 1, 3)
	return best
}

func mostAlike(in []int16, of []int16, from, to, step, each int) (best float64, where int) {
	for at := from; at < to && at+len(of) <= len(in); at += step {
		var ab, aa, bb float64
		for i := 0; i < len(of); i += each {
			a, b := float64(in[at+i]), float64(of[i])
			ab, aa, bb = ab+a*b, aa+a*a, bb+b*b
		}
		if like := ab / math.Sqrt(max(1, aa*bb)); like > best {
			best, where = like, at
		}
	}
	return best, where
}

func towelProgramme(t *testing.T) coach.Programme {
	p, faults := plan.Read("p.toml", []byte(withTowelPull(strings.Replace(shortPlan, "DAY", "2026-03-02", 1))), nil)
	require.NotNil(t, p, "%v", faults)
	prog, err := p.Resolve("K4", p.Day)
	require.NoError(t, err)
	return prog
}

// What somebody recorded is heard where its words are said, in place of what a
// machine or other words would say, and no cue moves.
func TestARecordingIsHeardInPlaceOfItsWords(t *testing.T) {
	t.Parallel()
	prog := towelProgramme(t)
	e := prog.Own[0]
	name, setUp := recordedLine(t, e.Name, 0.9), recordedLine(t, e.SetUp, 3)
	v, err := station.OpenVoice("en")
	require.NoError(t, err)
	defer v.Close()
	v.Own(prog.Own)
	bare := v.Fingerprint()
	plain, err := v.Patiently()
	require.NoError(t, err)
	without, heard := render(t, config(prog, plain), 4096)

	spanish := recordedLine(t, e.Care, 1)
	spanish.Language = "es"
	require.NoError(t, v.Record([]link.Recording{name, setUp, spanish, recordedLine(t, "towel push", 1)}, e.Typed()...))
	assert.Equal(t, []coach.RecordedData{{Text: e.SetUp, Hash: setUp.Hash()}, {Text: e.Name, Hash: name.Hash()}}, v.Recorded(), "of these words, in this language")
	assert.True(t, strings.HasPrefix(v.Fingerprint(), bare+"+"), "it is another voice")
	recorded, err := v.Patiently()
	require.NoError(t, err)
	with, same := render(t, config(prog, recorded), 4096)
	assert.Equal(t, heard.Cues, same.Cues)
	assert.Equal(t, len(without), len(with))

	found := map[string]bool{}
	for _, c := range same.Cues {
		text := recorded.Text(c.Phrase)
		for _, r := range []link.Recording{name, setUp} {
			if !strings.Contains(text, r.Text) || found[r.Text] {
				continue
			}
			found[r.Text] = true
			pcm, err := speech.ReadLine(r.Sound)
			require.NoError(t, err)
			from, to := int(c.At), int(c.At)+6*48000
			assert.Greater(t, likeness(with, pack.Double(pcm), from, to), 0.95, text)
			assert.Less(t, likeness(without, pack.Double(pcm), from, to), 0.5, text)
			assert.NotContains(t, plain.Text(c.Phrase), r.Text, "other words stood for them")
		}
	}
	assert.Len(t, found, 2)
}

func TestARecordingThatCannotBeUsedIsNot(t *testing.T) {
	t.Parallel()
	prog := towelProgramme(t)
	e := prog.Own[0]
	v, err := station.OpenVoice("en")
	require.NoError(t, err)
	defer v.Close()
	long, damaged := recordedLine(t, e.Name, 2.6), recordedLine(t, e.Care, 1)
	damaged.Sound = damaged.Sound[:100]
	damaged.Sound[20] = 7
	err = v.Record([]link.Recording{long, damaged}, e.Typed()...)
	require.ErrorContains(t, err, `"towel pull": it is longer than its words may take`)
	require.ErrorContains(t, err, `"Keep your shoulders low.": it is no recorded line`)
	assert.Empty(t, v.Recorded())
}

// A device fetches what its plan's words were recorded as, speaks it, says so at
// the start of the session, and goes on without the desk.
func TestDeviceSpeaksWhatTheDeskRecorded(t *testing.T) {
	t.Parallel()
	b := newBay(t, 300)
	r := recordedLine(t, "towel pull", 0.9)
	b.desk.Records(1, map[string]link.Recording{r.Hash(): r})
	b.send(2, planText(withTowelPull))
	file := filepath.Join(b.cfg.Data, "recording-"+r.Hash()+".json")
	b.start()
	b.taken(2)
	b.until("the recording is here", func() bool { _, err := os.Stat(file); return err == nil })
	require.NoError(t, b.stop())
	b.server.Kill()

	b.start()
	b.press(has(coach.EntrySessionStart), hardware.Tap, hardware.Plus)
	require.NoError(t, b.stop())
	start, ok := b.newest(coach.EntrySessionStart).Data.(*coach.SessionStartData)
	require.True(t, ok)
	assert.Equal(t, []coach.RecordedData{{Text: "towel pull", Hash: r.Hash()}}, start.Recorded)
	assert.Equal(t, 2, strings.Count(start.Voice, "+"), "the voice's fingerprint has the recordings in it: %s", start.Voice)
}
