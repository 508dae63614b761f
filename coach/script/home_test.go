package script

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"evenbell/coach"
)

// At home nobody of staff is near, so no sentence said there speaks of them;
// each language has the same other words.
func TestNoSentenceAtHomeSpeaksOfStaff(t *testing.T) {
	inEvery(t, func(t *testing.T, s *Script) {
		staff := map[string]string{"en": "staff", "es": "personal"}[s.Language()]
		clinic := 0
		for _, id := range phraseIDs(t) {
			for key := range s.say[id] {
				for _, name := range []string{key, "heron"} {
					p := coach.Phrase{ID: id, Name: name, AtHome: true}
					if variant(p) == key {
						assert.NotContains(t, strings.ToLower(s.Text(p)), staff, "%s %s", id, key)
						p.AtHome = false
						if strings.Contains(strings.ToLower(s.Text(p)), staff) {
							clinic++
						}
					}
				}
			}
		}
		assert.Greater(t, clinic, 15, "the test finds what is said where staff are")
		en := load(t)
		assert.Equal(t, keys(en.atHome), keys(s.atHome))
		assert.Equal(t, keys(en.say), keys(s.say))
		for id, variants := range s.atHome {
			for key := range variants {
				assert.Contains(t, s.say[id], key, "%s has words for home alone", id)
			}
		}
	})
}

func keys(say map[coach.PhraseID]map[string]template) map[coach.PhraseID][]string {
	out := map[coach.PhraseID][]string{}
	for id, variants := range say {
		out[id] = slices.Sorted(maps.Keys(variants))
	}
	return out
}

func TestSentencesAtHome(t *testing.T) {
	s := load(t)
	for _, row := range []struct {
		phrase coach.Phrase
		want   string
	}{
		{coach.Phrase{ID: coach.SayStop, AtHome: true}, "Stop. Put the weight down. Sit if you can."},
		{coach.Phrase{ID: coach.SayRing, Name: "020 912 0456"}, "Ring the clinic: zero two zero. Nine one two. Zero four five six."},
		{coach.Phrase{ID: coach.SayRing, Name: "(01632) 960001"}, "Ring the clinic: zero one six. Three two. Nine six zero. Zero zero one."},
		{coach.Phrase{ID: coach.SayNextSession, N: 1, Name: "monday"}, "The next session is tomorrow."},
		{coach.Phrase{ID: coach.SayNextSession, N: 3, Name: "thursday"}, "The next session is on Thursday."},
		{coach.Phrase{ID: coach.SayNextSession, N: 9, Name: "thursday"}, "The next session is in nine days."},
		{coach.Phrase{ID: coach.SayEmergency, Name: "Ring Astrid."}, "Call the emergency number now."},
		{coach.Phrase{ID: coach.SayIfWorse}, "If it gets worse: Call the emergency number now."},
		{coach.Phrase{ID: coach.SayTrouble, Name: "clock", AtHome: true}, "The clock here is not set. Please tell the clinic."},
	} {
		assert.Equal(t, row.want, s.Text(row.phrase), "%+v", row.phrase)
	}
	assert.Equal(t, "If it gets worse: Ring Astrid.", s.TextTyped(coach.Phrase{ID: coach.SayIfWorse, Name: "Ring Astrid."}))
	es := loadIn(t, "es")
	assert.Equal(t, "Llame a la clínica: cero dos cero. Nueve uno dos. Cero cuatro cinco seis.", es.Text(coach.Phrase{ID: coach.SayRing, Name: "020 912 0456"}))
	assert.Equal(t, "La próxima sesión es dentro de veintiún días.", es.Text(coach.Phrase{ID: coach.SayNextSession, N: 21}))
}
