package script

import (
	"go/ast"
	"go/parser"
	gotoken "go/token"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

func load(t testing.TB) *Script { return loadIn(t, "en") }

func loadIn(t testing.TB, lang string) *Script {
	t.Helper()
	s, err := Load(lang)
	require.NoError(t, err)
	return s
}

// inEvery runs a test once for each language.
func inEvery(t *testing.T, f func(*testing.T, *Script)) {
	for _, lang := range Languages() {
		t.Run(lang, func(t *testing.T) { f(t, loadIn(t, lang)) })
	}
}

func TestSentences(t *testing.T) {
	kg := func(milli int64) coach.Load { return coach.Dumbbell(milli, coach.Kilogram) }
	lb := func(milli int64) coach.Load { return coach.Dumbbell(milli, coach.Pound) }
	s := load(t)
	for _, row := range []struct {
		phrase coach.Phrase
		want   string
	}{
		{coach.Phrase{}, ""},
		{coach.Phrase{ID: coach.SayStop}, "Stop. Put the weight down. Sit if you can. Call out now."},
		{coach.Phrase{ID: coach.AskEffort}, "How many more could you have done?"},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(2500), Hands: 2}, "Two and a half kilograms in each hand."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(2500), Hands: 1}, "Two and a half kilograms."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(3250), Hands: 1}, "Three and a quarter kilograms."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(6750), Hands: 2}, "Six and three quarters kilograms in each hand."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(500), Hands: 2}, "Half a kilogram in each hand."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(1000), Hands: 1}, "One kilogram."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(2270), Hands: 1}, "Two point two seven kilograms."},
		{coach.Phrase{ID: coach.SayLoad, Load: lb(5000), Hands: 1}, "Five pounds."},
		{coach.Phrase{ID: coach.SayLoad, Load: coach.Band(2)}, "Band two."},
		{coach.Phrase{ID: coach.SayLoad}, "No weight, just your body."},
		{coach.Phrase{ID: coach.SayHowMany, N: 10, Of: 1, Sides: coach.BothSides}, "Ten times."},
		{coach.Phrase{ID: coach.SayHowMany, N: 1, Of: 1, Sides: coach.BothSides}, "Once."},
		{coach.Phrase{ID: coach.SayHowMany, N: 10, Of: 1, Sides: coach.EachSide}, "Ten times on each side."},
		{coach.Phrase{ID: coach.SayHowMany, N: 10, Of: 2, Sides: coach.BothSides}, "Two sets of ten."},
		{coach.Phrase{ID: coach.SayHowMany, N: 10, Of: 1, Sides: coach.Alternating}, "Ten times in all, five a side, changing sides each time."},
		{coach.Phrase{ID: coach.SayHowMany, N: 11, Of: 1, Sides: coach.Alternating}, "Eleven times in all, changing sides each time."},
		{coach.Phrase{ID: coach.SayTimeLeft, Seconds: 60}, "One minute left."},
		{coach.Phrase{ID: coach.SayTimeLeft, Seconds: 90}, "One minute thirty left."},
		{coach.Phrase{ID: coach.SayTimeLeft, Seconds: 125}, "Two minutes five seconds left."},
		{coach.Phrase{ID: coach.SayWarmUp, Seconds: 300}, "Warm-up. Five minutes of easy movement."},
		{coach.Phrase{ID: coach.SayCount, N: 72}, "Seventy two."},
		{coach.Phrase{ID: coach.SayNextSet, N: 2, Of: 2}, "Set two of two."},
		{coach.Phrase{ID: coach.SayResume, N: 4}, "Going on from repetition four."},
		{coach.Phrase{ID: coach.SaySide, Side: coach.Right, N: 2}, "Change sides. Now the right side."},
		{coach.Phrase{ID: coach.SayNext}, "Go on to your next place."},
		{coach.Phrase{ID: coach.SayNext, Name: "the mat", When: coach.WhenSoon, Seconds: 60}, "Next, go to your next place. It is free in one minute."},
		{coach.Phrase{ID: coach.SayNext, Name: "the mat", When: coach.WhenAt, N: 550}, "Next, go to your next place. It is free at ten past nine."},
		{coach.Phrase{ID: coach.SayNext, Name: "the mat", When: coach.WhenAt, N: 0}, "Next, go to your next place. It is free at twelve o'clock."},
		{coach.Phrase{ID: coach.SayNext, Name: "the mat", When: coach.WhenAt, N: 735}, "Next, go to your next place. It is free at a quarter past twelve."},
		{coach.Phrase{ID: coach.SayNext, Name: "the mat", When: coach.WhenAt, N: 779}, "Next, go to your next place. It is free at one minute to one."},
		{coach.Phrase{ID: coach.SayNext, Name: "the mat", When: coach.WhenAt, N: 1028}, "Next, go to your next place. It is free at eight minutes past five."},
	} {
		assert.Equal(t, row.want, s.Text(row.phrase), "%+v", row.phrase)
	}
}

func TestATagIsSpelledOrLeftOut(t *testing.T) {
	s := load(t)
	for name, want := range map[string]string{
		"K4": "Hello K four. This", "heron": "Hello heron. This", "K-4": "This", "": "This", "K4711X99": "This", "Ärger": "This",
	} {
		got := s.Text(coach.Phrase{ID: coach.SayWelcomeOn, Name: name})
		assert.True(t, strings.HasPrefix(got, want+" station"), "%q gives %q", name, got)
	}
}

// Every sentence of the vocabulary has words: a new constant without them fails here.
func TestEveryPhraseHasWords(t *testing.T) { inEvery(t, everyPhraseHasWords) }

func everyPhraseHasWords(t *testing.T, s *Script) {
	for name, id := range phraseIDs(t) {
		assert.NotEmpty(t, s.say[id], "coach.%s = %q has no words in %s.toml", name, id, s.Language())
	}
	known := map[coach.PhraseID]bool{}
	for _, id := range phraseIDs(t) {
		known[id] = true
	}
	for id := range s.say {
		assert.True(t, known[id], "%s.toml has words for %q, which is no phrase", s.Language(), id)
	}
}

// phraseIDs reads the constants of type PhraseID from the source.
func phraseIDs(t *testing.T) map[string]coach.PhraseID {
	t.Helper()
	src, err := os.ReadFile("../phrase.go")
	require.NoError(t, err)
	f, err := parser.ParseFile(gotoken.NewFileSet(), "phrase.go", src, 0)
	require.NoError(t, err)
	out := map[string]coach.PhraseID{}
	ast.Inspect(f, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if typ, ok := spec.Type.(*ast.Ident); !ok || typ.Name != "PhraseID" {
			return true
		}
		id, err := strconv.Unquote(spec.Values[0].(*ast.BasicLit).Value)
		require.NoError(t, err)
		out[spec.Names[0].Name] = coach.PhraseID(id)
		return true
	})
	require.NotEmpty(t, out)
	return out
}

// What stands in a sentence is what its clips say, word for word, every clip
// is one a pack must have, and no slot is left open.
func TestEverySentenceIsSpokenByKnownClips(t *testing.T) { inEvery(t, everySentenceIsSpoken) }

func everySentenceIsSpoken(t *testing.T, s *Script) {
	must := map[string]bool{}
	for _, c := range s.Clips() {
		must[c.ID] = true
		assert.NotContains(t, c.Text, "{")
	}
	n := 0
	phrases(s, phraseIDs(t), func(p coach.Phrase) {
		n++
		var said []string
		for _, c := range s.Say(p) {
			if !must[c.ID] {
				t.Errorf("%+v says %q, which no pack must have", p, c.ID)
			}
			said = append(said, plain(c.Text))
		}
		text := s.Text(p)
		if text == "" || strings.ContainsAny(text, "{}|") || strings.Contains(text, " .") || strings.Contains(text, " ,") {
			t.Errorf("%+v gives %q", p, text)
		}
		if plain(text) != strings.Join(said, " ") {
			t.Errorf("%+v reads %q and says %q", p, text, said)
		}
	})
	t.Logf("%d sentences, %d clips", n, len(must))
}

func plain(text string) string { return strings.ReplaceAll(longSlug(text), "-", " ") }

func TestZeroAndUnknownPhrasesSayNothing(t *testing.T) {
	s := load(t)
	for _, p := range []coach.Phrase{{}, {ID: "unheard"}, {ID: coach.SayVolume, Name: "purple"}, {ID: coach.SayVerb, Exercise: "none"}} {
		assert.Empty(t, s.Say(p))
		assert.Empty(t, s.Text(p))
	}
}

func TestUnknownLanguageIsRefusedByName(t *testing.T) {
	_, err := Load("xx")
	require.ErrorContains(t, err, `no script "xx"; there are en, es`)
}

func FuzzParse(f *testing.F) {
	f.Add([]byte("format = \"script/1\"\nlanguage = \"en\"\n[say]\nstop = \"Stop. | {n} now\"\n"))
	f.Add([]byte("[say]\nstop = 3"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := parse(text)
		if err == nil {
			s.Say(coach.Phrase{ID: coach.SayStop})
		}
	})
}

// BenchmarkLoad is part of the time from start to the first sound.
func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		load(b)
	}
}

func BenchmarkSay(b *testing.B) {
	s := load(b)
	p := coach.Phrase{ID: coach.SayLoad, Load: coach.Dumbbell(2500, coach.Kilogram), Hands: 2}
	for b.Loop() {
		s.Say(p)
	}
}
