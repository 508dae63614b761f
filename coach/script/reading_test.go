package script

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/plan"
)

// Every exercise and stage of the catalogue has all its words, and the script
// has none for anything else.
func TestEveryExerciseOfTheCatalogueHasWords(t *testing.T) { inEvery(t, everyExerciseHasWords) }

func everyExerciseHasWords(t *testing.T, s *Script) {
	known := map[string]bool{}
	for _, e := range catalogue.All() {
		known[e.ID] = true
		assert.Len(t, s.exercises[e.ID].Stage, len(e.Stages), e.ID)
		for _, st := range e.Stages {
			f, ok := s.Form(e.ID, st.ID)
			assert.True(t, ok, "%s %s has no words", e.ID, st.ID)
			for what, text := range map[string]string{"name": f.Name, "set-up": f.SetUp, "care": f.Care,
				"out-as": f.OutAs, "lift": f.Lift, "lower": f.Lower, "fault": f.Fault} {
				assert.NotEmpty(t, text, "%s %s: %s", e.ID, st.ID, what)
			}
			assert.NotEqual(t, f.Lift, f.Lower)
			assert.NotEmpty(t, f.Remind, e.ID)
		}
	}
	for id := range s.exercises {
		assert.True(t, known[id], "the script has words for %q, which the catalogue has not", id)
	}
}

// A plan's call words are the script's: each has a clip.
func TestEveryCallWordOfAPlanHasAClip(t *testing.T) {
	inEvery(t, func(t *testing.T, s *Script) {
		assert.ElementsMatch(t, plan.CallWords, s.CallWords())
		spoken := map[string]string{}
		for _, call := range s.CallWords() {
			word := s.calls[call]
			assert.Empty(t, spoken[word], "%s and %s are spoken alike", call, spoken[word])
			spoken[word] = call
		}
	})
}

// Reading level by the Flesch–Kincaid grade (Kincaid, Fishburne, Rogers and
// Chissom 1975, Navy research branch report 8-75): 0.39 words a sentence +
// 11.8 syllables a word − 15.59. A 12-year-old reads at grade 6 to 7.
// Syllables are counted as groups of vowels, as is usual for the formula.
func TestATwelveYearOldCanReadIt(t *testing.T) {
	s := load(t)
	var all []string
	phrases(s, phraseIDs(t), func(p coach.Phrase) {
		if p.N <= 10 && p.Load.Milli()%1000 == 0 && p.Load.Milli() <= 10_000 {
			all = append(all, s.Text(p))
		}
	})
	t.Logf("all sentences: grade %.1f", grade(strings.Join(unique(all), " ")))
	assert.Less(t, grade(strings.Join(unique(all), " ")), 6.0)
	for id, variants := range s.say {
		for key, tpl := range variants {
			text := plainTemplate(tpl)
			if len(strings.Fields(text)) < 8 {
				continue // the formula is not made for a few words
			}
			if g := grade(text); g > 6 {
				t.Logf("%s %s: grade %.1f: %s", id, key, g, text)
				assert.LessOrEqual(t, g, 9.0, "%s: %s", id, text)
			}
		}
	}
}

func plainTemplate(tpl template) string {
	var out []string
	for _, seg := range tpl {
		out = append(out, seg.with(slices.Repeat([]filled{{joined: "ten"}}, len(seg.slots()))))
	}
	return strings.Join(out, " ")
}

func unique(texts []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, t := range texts {
		if !seen[t] {
			seen[t] = true
			out = append(out, t)
		}
	}
	return out
}

func grade(text string) float64 {
	words, syllables, sentences := 0.0, 0.0, 0.0
	for _, w := range strings.Fields(text) {
		words++
		syllables += float64(syllablesOf(w))
		if strings.ContainsAny(w[len(w)-1:], ".?!:") {
			sentences++
		}
	}
	return 0.39*words/max(1, sentences) + 11.8*syllables/words - 15.59
}

func syllablesOf(word string) int {
	word = strings.Trim(strings.ToLower(word), ".,?!:'’")
	n, inVowel := 0, false
	for _, r := range word {
		vowel := strings.ContainsRune("aeiouy", r)
		if vowel && !inVowel {
			n++
		}
		inVowel = vowel
	}
	if strings.HasSuffix(word, "e") && !strings.HasSuffix(word, "le") && n > 1 {
		n--
	}
	return max(n, 1)
}

func TestGradeIsTheFormula(t *testing.T) {
	// Six words, six syllables, one sentence: 0.39·6 + 11.8 − 15.59 = −1.45.
	assert.InDelta(t, -1.45, grade("The cat sat on the mat."), 1e-9)
}
