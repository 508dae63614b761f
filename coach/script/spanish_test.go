package script

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

// Numbers as the Real Academia Española writes them (Diccionario panhispánico
// de dudas, "cardinales"; from memory): one word to thirty, "uno" short before
// a masculine noun and "una" before a feminine one.
func TestSpanishNumbers(t *testing.T) {
	g := loadIn(t, "es").grammar
	for _, row := range []struct {
		n                int
		bare, kilo, time string
	}{
		{0, "cero", "cero", "cero"}, {1, "uno", "un", "una"}, {2, "dos", "dos", "dos"},
		{16, "dieciséis", "dieciséis", "dieciséis"}, {20, "veinte", "veinte", "veinte"},
		{21, "veintiuno", "veintiún", "veintiuna"}, {22, "veintidós", "veintidós", "veintidós"},
		{30, "treinta", "treinta", "treinta"}, {31, "treinta y uno", "treinta y un", "treinta y una"},
		{11, "once", "once", "once"}, {60, "sesenta", "sesenta", "sesenta"},
		{61, "sesenta y uno", "sesenta y un", "sesenta y una"}, {99, "noventa y nueve", "noventa y nueve", "noventa y nueve"},
		{100, "cien", "cien", "cien"}, {105, "uno cero cinco", "uno cero cinco", "uno cero cinco"},
	} {
		assert.Equal(t, row.bare, strings.Join(g.number(row.n, counting), " "))
		assert.Equal(t, row.kilo, strings.Join(g.number(row.n, masculine), " "))
		assert.Equal(t, row.time, strings.Join(g.number(row.n, feminine), " "))
	}
	assert.Empty(t, g.number(-1, counting))
	assert.Empty(t, g.times(-1))
	assert.Empty(t, g.time(-1))
}

// All numbers from 0 to 100 differ by ear and none has a gap.
func TestSpanishNumbersAreAllDifferent(t *testing.T) {
	g := loadIn(t, "es").grammar
	for _, form := range []string{counting, masculine, feminine} {
		seen := map[string]int{}
		for n := range 101 {
			text := strings.Join(g.number(n, form), " ")
			require.NotEmpty(t, text)
			require.NotContains(t, text, "  ")
			before, twice := seen[text]
			require.False(t, twice, "%d and %d are both %q", before, n, text)
			seen[text] = n
		}
	}
}

func TestSpanishSentences(t *testing.T) {
	kg := func(milli int64) coach.Load { return coach.Dumbbell(milli, coach.Kilogram) }
	lb := func(milli int64) coach.Load { return coach.Dumbbell(milli, coach.Pound) }
	s := loadIn(t, "es")
	for _, row := range []struct {
		phrase coach.Phrase
		want   string
	}{
		{coach.Phrase{ID: coach.SayStop}, "Pare. Deje el peso. Siéntese si puede. Avise ahora en voz alta."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(2500), Hands: 2}, "Dos kilos y medio en cada mano."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(1500), Hands: 1}, "Un kilo y medio."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(1000), Hands: 1}, "Un kilo."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(500), Hands: 2}, "Medio kilo en cada mano."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(3250), Hands: 1}, "Tres kilos y cuarto."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(6750), Hands: 1}, "Seis kilos y tres cuartos."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(21000), Hands: 1}, "Veintiún kilos."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(2270), Hands: 1}, "Dos coma dos siete kilos."},
		{coach.Phrase{ID: coach.SayLoad, Load: kg(125), Hands: 1}, "Cero coma uno dos cinco kilos."},
		{coach.Phrase{ID: coach.SayLoad, Load: lb(1000), Hands: 1}, "Una libra."},
		{coach.Phrase{ID: coach.SayLoad, Load: lb(2500), Hands: 1}, "Dos libras y media."},
		{coach.Phrase{ID: coach.SayLoad, Load: lb(21000), Hands: 1}, "Veintiuna libras."},
		{coach.Phrase{ID: coach.SayLoad, Load: coach.Band(2)}, "Banda dos."},
		{coach.Phrase{ID: coach.SayNext, Name: "x", When: coach.WhenAt, N: 540}, "Ahora le toca: su próximo puesto. Estará libre a las nueve en punto."},
		{coach.Phrase{ID: coach.SayNext, Name: "x", When: coach.WhenAt, N: 790}, "Ahora le toca: su próximo puesto. Estará libre a la una y diez."},
		{coach.Phrase{ID: coach.SayNext, Name: "x", When: coach.WhenAt, N: 1290}, "Ahora le toca: su próximo puesto. Estará libre a las nueve y media."},
		{coach.Phrase{ID: coach.SayNext, Name: "x", When: coach.WhenAt, N: 580}, "Ahora le toca: su próximo puesto. Estará libre a las diez menos veinte."},
		{coach.Phrase{ID: coach.SayNext, Name: "x", When: coach.WhenAt, N: 765}, "Ahora le toca: su próximo puesto. Estará libre a la una menos cuarto."},
		{coach.Phrase{ID: coach.SayLoad}, "Sin peso, solo con su cuerpo."},
		{coach.Phrase{ID: coach.SayHowMany, N: 1, Of: 1, Sides: coach.BothSides}, "Una vez."},
		{coach.Phrase{ID: coach.SayHowMany, N: 10, Of: 1, Sides: coach.EachSide}, "Diez veces con cada lado."},
		{coach.Phrase{ID: coach.SayHowMany, N: 21, Of: 1, Sides: coach.BothSides}, "Veintiuna veces."},
		{coach.Phrase{ID: coach.SayHowMany, N: 10, Of: 2, Sides: coach.BothSides}, "Dos series de diez veces."},
		{coach.Phrase{ID: coach.SayHowMany, N: 12, Of: 21, Sides: coach.BothSides}, "Veintiuna series de doce veces."},
		{coach.Phrase{ID: coach.SayHowMany, N: 42, Of: 1, Sides: coach.Alternating}, "Cuarenta y dos veces en total, veintiuna por lado, cambiando de lado cada vez."},
		{coach.Phrase{ID: coach.SayTimeLeft, Seconds: 60}, "Tiempo que queda: un minuto."},
		{coach.Phrase{ID: coach.SayTimeLeft, Seconds: 90}, "Tiempo que queda: un minuto y treinta segundos."},
		{coach.Phrase{ID: coach.SayTimeLeft, Seconds: 121}, "Tiempo que queda: dos minutos y un segundo."},
		{coach.Phrase{ID: coach.SayNextSet, N: 1, Of: 21, Load: coach.Band(1)}, "Serie uno de veintiuno. Banda uno."},
		{coach.Phrase{ID: coach.SayCount, N: 31}, "Treinta y uno."},
		{coach.Phrase{ID: coach.SayExercise, Exercise: "bridge", N: 1, Of: 3}, "Primer ejercicio: puente."},
		{coach.Phrase{ID: coach.AskSymptom}, "¿Qué siente? Toque cuando yo lo nombre."},
		{coach.Phrase{ID: coach.SayWho, N: 3, Name: "heron"}, "Número tres, garza."},
		{coach.Phrase{ID: coach.SayWho, N: 3, Name: "W9"}, "Número tres, uve doble nueve."},
	} {
		assert.Equal(t, row.want, s.Text(row.phrase), "%+v", row.phrase)
	}
}

// Spanish says of everything what English says of it: the same sentences in
// the same variants, exercises in the same stages, with words of the stage's
// own where English has them.
func TestSpanishSaysWhatEnglishSays(t *testing.T) {
	en, es := load(t), loadIn(t, "es")
	for id, variants := range en.say {
		assert.ElementsMatch(t, slices.Collect(maps.Keys(variants)), slices.Collect(maps.Keys(es.say[id])), "%s", id)
	}
	assert.Len(t, es.say, len(en.say))
	for _, id := range slices.Sorted(maps.Keys(en.exercises)) {
		assert.Len(t, es.exercises[id].Remind, len(en.exercises[id].Remind), id)
	}
}

// Nobody is spoken to as a man or as a woman, or as "tú".
func TestSpanishSpeaksToEverybody(t *testing.T) {
	for _, c := range loadIn(t, "es").Clips() {
		words := " " + plain(c.Text) + " "
		for _, not := range []string{" tú ", " tu ", " ti ", " tus ", " sentado ", " sentada ", " quieto ", " derecha ", " tumbado ", " preparado ", " coja ", " coge "} {
			assert.NotContains(t, words, not, c.ID)
		}
	}
}

// Reading ease after Szigriszt-Pazos (1993), 206.835 − 62.3 syllables a word
// − words a sentence, on the INFLESZ scale (Barrio 2008): from 65 "fairly
// easy", primary school. The formula and the scale are from memory.
func TestATwelveYearOldCanReadTheSpanish(t *testing.T) {
	s := loadIn(t, "es")
	var all []string
	phrases(s, phraseIDs(t), func(p coach.Phrase) {
		if p.N <= 10 && p.Load.Milli()%1000 == 0 && p.Load.Milli() <= 10_000 {
			all = append(all, s.Text(p))
		}
	})
	e := ease(strings.Join(unique(all), " "))
	t.Logf("all sentences: ease %.1f", e)
	assert.Greater(t, e, 65.0)
	for id, variants := range s.say {
		for key, tpl := range variants {
			text := plainTemplate(tpl)
			if len(strings.Fields(text)) >= 12 {
				assert.Greater(t, ease(text), 55.0, "%s %s: %s", id, key, text)
			}
		}
	}
}

func ease(text string) float64 {
	words, syllables, sentences := 0.0, 0.0, 0.0
	for _, w := range strings.Fields(text) {
		words++
		syllables += float64(spanishSyllables(w))
		if strings.ContainsAny(w[len(w)-1:], ".?!:") {
			sentences++
		}
	}
	return 206.835 - 62.3*syllables/words - words/max(1, sentences)
}

// spanishSyllables counts the vowels, those that glide into another once.
func spanishSyllables(word string) int {
	n, before := 0, 'x'
	for _, r := range strings.ToLower(word) {
		strong, weak := strings.ContainsRune("aeoáéóíú", r), strings.ContainsRune("iuü", r)
		switch {
		case strong && strings.ContainsRune("iuü", before):
		case strong, weak && !strings.ContainsRune("aeoáéóiu", before):
			n++
		}
		before = r
	}
	return max(n, 1)
}

func TestSpanishSyllables(t *testing.T) {
	for word, want := range map[string]int{"pie": 1, "siéntese": 3, "ejercicio": 4, "espalda": 3, "aire": 2, "baúl": 2, "oiga": 2, "y": 1, "ciudad": 2} {
		assert.Equal(t, want, spanishSyllables(word), word)
	}
}
