package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

func TestADigestStandsWhileItsSessionDoes(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 3)
		tp.session("s2", "B2", 3)
		send(t, s, station, tp.all...)
		keep := func(by, id, text string) {
			v, err := s.Session(ctx, id)
			require.NoError(t, err)
			require.NoError(t, s.KeepDigests(ctx, by, []store.Digest{{Session: v, Text: text}}))
		}
		has := func(by, tag string) (texts []string) {
			all, err := s.Digests(ctx, by, tag)
			require.NoError(t, err)
			for k, text := range all {
				assert.Equal(t, station, k.Station)
				texts = append(texts, k.ID+" "+text)
			}
			return texts
		}
		lacks := func(by string, quiet time.Time) []string {
			tags, err := s.Undigested(ctx, by, quiet)
			require.NoError(t, err)
			return tags
		}
		later := noon.Add(time.Hour)
		assert.Equal(t, []string{"B2", "K4"}, lacks("a", later))
		assert.Empty(t, lacks("a", noon), "both go on")
		keep("a", "s1", "one")
		assert.Equal(t, []string{"s1 one"}, has("a", "K4"))
		assert.Equal(t, []string{"B2"}, lacks("a", later))
		assert.Empty(t, has("b", "K4"), "of another program")
		assert.Equal(t, []string{"B2", "K4"}, lacks("b", later))
		keep("b", "s1", "two")
		assert.Equal(t, []string{"s1 two"}, has("b", "K4"))
		assert.Empty(t, has("a", "K4"))

		tp.write(coach.Entry{Session: "s1", Tag: "K4", Kind: coach.EntryRelease, Data: coach.ReleaseData{By: "R. Okafor"}})
		send(t, s, station, tp.all...)
		assert.Empty(t, has("b", "K4"), "it has one entry more")
		keep("b", "s1", "three")
		assert.Equal(t, []string{"s1 three"}, has("b", "K4"))

		tp.trusted = false
		tp.write(coach.Entry{Kind: coach.EntryVolume})
		send(t, s, station, tp.all...)
		assert.Empty(t, has("b", "K4"), "an entry of the epoch waits for its time")
		keep("b", "s1", "four")
		require.NoError(t, s.SaveContact(ctx, store.Contact{Station: station, Boot: tp.boot, MonoNS: tp.mono, At: later}))
		assert.Empty(t, has("b", "K4"), "it has been dated")
		keep("b", "s1", "five")

		addPatient(t, s, "K4", "Élodie Marsh")
		p, err := s.PatientByTag(ctx, "K4")
		require.NoError(t, err)
		p.Left = "2024-06-01"
		require.NoError(t, second(s.UpdatePatient(ctx, p)))
		v, err := s.Session(ctx, "s1")
		require.NoError(t, err)
		assert.Equal(t, []string{"s1 five"}, has("b", "K4"))
		tags, err := s.Forget(ctx, "2024-06-02", "admin", noon)
		require.NoError(t, err)
		assert.Equal(t, []string{"K4"}, tags)
		require.NoError(t, s.KeepDigests(ctx, "b", []store.Digest{{Session: v, Text: "late"}}))
		assert.Empty(t, has("b", "K4"), "forgotten with the session, and not kept afterwards")
		keep("b", "s2", "six")
		assert.Empty(t, lacks("b", later))
	})
}
