package main

import (
	"bytes"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/audio/speech"
	"evenbell/audio/voice"
	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/script"
	"evenbell/sounds"
)

// need skips where a program is absent, or fails where peers are required.
func need(t *testing.T, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			if os.Getenv("EVENBELL_PEERS") == "required" {
				t.Fatalf("%s is needed here", p)
			}
			t.Skipf("%s is not installed", p)
		}
	}
}

func builtIn(t *testing.T, lang string) (*voice.Pack, *script.Script) {
	t.Helper()
	dir, err := fs.Sub(sounds.FS, lang)
	require.NoError(t, err)
	p, err := voice.Open(dir)
	require.NoError(t, err)
	s, err := script.Load(lang)
	require.NoError(t, err)
	return p, s
}

// inEvery runs a test for each built-in pack.
func inEvery(t *testing.T, f func(*testing.T, *voice.Pack, *script.Script)) {
	for _, lang := range script.Languages() {
		t.Run(lang, func(t *testing.T) {
			p, s := builtIn(t, lang)
			f(t, p, s)
		})
	}
}

func TestTheBuiltInPacksFitTheirScripts(t *testing.T) {
	inEvery(t, func(t *testing.T, p *voice.Pack, s *script.Script) { assert.Empty(t, faults(p, s)) })
}

// What is said inside a movement is short: limits in seconds, as asked for.
func TestWhatIsSaidInAMovementIsShort(t *testing.T) { inEvery(t, whatIsSaidInAMovementIsShort) }

func whatIsSaidInAMovementIsShort(t *testing.T, p *voice.Pack, s *script.Script) {
	seconds := func(ph coach.Phrase) float64 {
		sum := 0.0
		for _, c := range s.Say(ph) {
			n, ok := p.Length(c.ID)
			require.True(t, ok, c.ID)
			sum += float64(n) / voice.Rate
		}
		return sum
	}
	for n := range 61 {
		assert.Less(t, seconds(coach.Phrase{ID: coach.SayCount, N: n}), 1.2, "%d", n)
	}
	assert.Less(t, seconds(coach.Phrase{ID: coach.SayLastOne}), 1.2)
	for _, l := range []coach.Load{coach.Body(), coach.Band(1), coach.Dumbbell(2000, coach.Kilogram)} {
		for hands := 1; hands <= 2; hands++ {
			assert.Less(t, seconds(coach.Phrase{ID: coach.SaySettle, Load: l, Hands: hands}), 1.8)
		}
	}
	for _, e := range catalogue.All() {
		for _, st := range e.Stages {
			ph := coach.Phrase{ID: coach.SayOutAs, Exercise: e.ID, Stage: st.ID}
			assert.Less(t, seconds(ph), 1.6, "%s %s", e.ID, st.ID)
			for _, ph.Phase = range []coach.Phase{coach.Lift, coach.Lower} {
				ph.ID = coach.SayVerb
				assert.Less(t, seconds(ph), 0.8, s.Text(ph))
			}
		}
	}
}

// A pack of a few clips goes through the real engine and encoder.
func TestClipsAreMadeByTheRealEngine(t *testing.T) {
	need(t, "flite", "lame")
	dir := t.TempDir()
	clips := []script.Clip{{ID: "ten", Text: "ten", Brisk: true}, {ID: "are-you-all-right", Text: "Are you all right?"}}
	from, err := engine("flite", "en")
	require.NoError(t, err)
	infos, err := makeClips(t.Context(), from, clips, dir)
	require.NoError(t, err)
	m := voice.Manifest{Format: voice.Format, Language: "en", Rate: voice.FileRate, Clips: infos}
	text, err := m.Encode()
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, voice.ManifestName), text, 0o600))
	p, err := voice.Open(os.DirFS(dir))
	require.NoError(t, err)
	assert.Equal(t, []string{"ninety"}, p.Missing([]string{"ten", "ninety"}))
	for _, c := range infos {
		assert.InDelta(t, speech.TargetLUFS, c.LUFS, 1)
		assert.InDelta(t, 1105, c.Skip, 50)
	}
	again, err := makeClips(t.Context(), from, clips, t.TempDir())
	require.NoError(t, err)
	assert.Equal(t, infos, again, "the same words make the same bytes")
}

func TestCommandLine(t *testing.T) {
	whole := t.TempDir()
	require.NoError(t, os.CopyFS(whole, mustSub(t)))
	broken := t.TempDir()
	require.NoError(t, os.CopyFS(broken, mustSub(t)))
	require.NoError(t, os.Remove(filepath.Join(broken, "ten.mp3")))
	own := filepath.Join(t.TempDir(), "own.toml")
	require.NoError(t, os.WriteFile(own, []byte(ownExercise), 0o644))
	for _, row := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"check", whole}, 0, "whole, "},
		{[]string{"check", broken}, 1, `clip "ten": its file ten.mp3 is missing`},
		{[]string{"check"}, 2, "accepts 1 arg"},
		{[]string{"sheet"}, 0, "Stop. Put the weight down. Sit if you can. Call out now"},
		{[]string{"sheet", "--own", own}, 0, "towel-pull                                 towel pull\n"},
		{[]string{"check", whole, "--own", own}, 1, `towel-pull: missing: "towel pull"`},
		{[]string{"sheet", "--own", whole + "/NOTICE"}, 1, "the clinic's own exercises: "},
		{[]string{"sheet", "--script", "xx"}, 1, `no script "xx"`},
		{[]string{"build"}, 2, "say where with --out"},
		{[]string{"build", "--out", "x", "--engine", "parrot"}, 2, "there are espeak-ng, flite"},
		{[]string{"build", "--out", "x", "--engine", "flite", "--script", "es"}, 2, "flite speaks English only"},
		{[]string{"build", "--out", "x", "--engine", "flite", "--recordings", "y"}, 2, "not both"},
		{[]string{"build", "--out", "x", "--recordings", "y"}, 2, "needs --licence FILE and --speaker NAME"},
		{[]string{"build", "--out", "x", "--speaker", "Marta"}, 2, "go with --recordings"},
		{[]string{"sheet", "--script", "es"}, 0, "Pare. Deje el peso. Siéntese si puede"},
		{[]string{"build", "--out", "."}, 1, "no voice pack and not empty"},
		{[]string{"build", "--loud"}, 2, "unknown flag"},
		{[]string{"--help"}, 0, "Make and check voice packs"},
	} {
		var out bytes.Buffer
		assert.Equal(t, row.code, run(t.Context(), row.args, &out, &out), "%v: %s", row.args, &out)
		assert.Contains(t, out.String(), row.says)
	}
}

const ownExercise = `format = "exercises/1"
[[exercise]]
id = "own-towel-pull"
name = "towel pull"
set_up = "Sit tall. Hold the towel with both hands."
care = "Keep your shoulders low."
region = "upper"
muscles = ["biceps"]
position = "seated"
first = "lift"
sides = ["both"]
loads = ["body"]
bars = []
verbs_of = "dumbbell-row"
`

func mustSub(t *testing.T) fs.FS {
	t.Helper()
	dir, err := fs.Sub(sounds.FS, "en")
	require.NoError(t, err)
	return dir
}

// Every clip begins to sound within 5 ms of where it begins once decoded: the
// encoder's delay is cut off, and no word.
func TestNoClipBeginsWithSilence(t *testing.T) {
	inEvery(t, func(t *testing.T, p *voice.Pack, s *script.Script) {
		store := voice.NewStore(p, 0)
		defer store.Close()
		latest, which := 0.0, ""
		for _, c := range s.Clips() {
			clip, err := store.Get(c.ID)
			require.NoError(t, err)
			loudest := 0
			for _, x := range clip.Samples() {
				loudest = max(loudest, int(x), -int(x))
			}
			onset := int(float64(loudest) * math.Pow(10, speech.OnsetDB/20))
			first := slices.IndexFunc(clip.Samples(), func(x int16) bool { return max(int(x), -int(x)) >= onset })
			if ms := 1000 * float64(first) / voice.Rate; ms > latest {
				latest, which = ms, c.ID
			}
		}
		t.Logf("the latest sounds after %.1f ms: %s", latest, which)
		assert.LessOrEqual(t, latest, 5.0, which)
	})
}
