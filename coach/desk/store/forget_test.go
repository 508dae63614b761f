package store_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

func TestForget(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.write(coach.Entry{Session: "s1", Kind: coach.EntryPress}) // before anybody said who
		tp.session("s1", "K4", 3)
		tp.session("s2", "B2", 3)
		tp.write(coach.Entry{Kind: "clear", Tag: "K4"})
		send(t, s, station, tp.all...)
		send(t, s, station, forge(tp.all[3], `"rep"`, `"per"`)) // a line of K4 kept in a break
		gone, stays, held := addPatient(t, s, "K4", "Élodie Marsh"), addPatient(t, s, "B2", "Bob Tan"), addPatient(t, s, "C3", "Cy Reed")
		for _, p := range []store.Patient{gone, stays, held} {
			for _, err := range []error{
				second(s.AddScreening(ctx, store.Screening{Patient: p.ID, Day: "2024-03-02", At: noon})),
				second(s.AddPrescription(ctx, store.Prescription{Patient: p.ID, Text: "plan", WrittenAt: noon})),
				second(s.AddDecision(ctx, store.Decision{Patient: p.ID, Answer: store.Declined, At: noon})),
			} {
				require.NoError(t, err)
			}
		}
		for _, tags := range [][]string{{"K4"}, {"K4", "B2"}, {"K40"}} {
			require.NoError(t, second(s.SendPlan(ctx, store.StationPlan{Station: station, Day: "2024-03-02", Tags: tags, SentAt: noon})))
		}
		a, _, err := s.RaiseAttention(ctx, store.Attention{Reason: store.StopPressed, Station: station, Tag: "K4", Symptom: "dizzy", Raised: noon, Delivered: noon})
		require.NoError(t, err)
		for _, p := range []store.Patient{gone, held} {
			p.Left, p.Kept = "2024-06-01", p.ID == held.ID
			require.NoError(t, second(s.UpdatePatient(ctx, p)))
		}

		tags, err := s.Forget(ctx, "2024-06-01", "admin", noon)
		require.NoError(t, err)
		assert.Empty(t, tags, "on that day is not before it")
		tags, err = s.Forget(ctx, "2024-06-02", "admin", noon)
		require.NoError(t, err)
		assert.Equal(t, []string{"K4"}, tags)
		tags, err = s.Forget(ctx, "2024-06-02", "admin", noon)
		require.NoError(t, err)
		assert.Empty(t, tags)

		p, err := s.Patient(ctx, gone.ID)
		require.NoError(t, err)
		assert.Empty(t, p.Name)
		assert.Equal(t, store.Record{}, p.Record)
		assert.NotNil(t, p.Forgotten)
		require.ErrorIs(t, second(s.UpdatePatient(ctx, p)), store.ErrState)
		require.ErrorIs(t, second(s.AddPatient(ctx, store.Patient{Tag: "K4"})), store.ErrTaken, "its tag is never given again")
		for id, want := range map[int64]int{gone.ID: 0, stays.ID: 1, held.ID: 1} {
			screenings, err := s.ScreeningsOf(ctx, id, 0)
			require.NoError(t, err)
			prescriptions, err := s.PrescriptionsOf(ctx, id)
			require.NoError(t, err)
			decisions, err := s.DecisionsOf(ctx, id)
			require.NoError(t, err)
			assert.Equal(t, []int{want, want, want}, []int{len(screenings), len(prescriptions), len(decisions)})
		}
		for _, e := range kept(t, s, store.EntryFilter{}) {
			assert.NotContains(t, string(e.Line), "K4")
			assert.NotEqual(t, "s1", e.Session, "not even the press before anybody said who")
		}
		assert.Len(t, kept(t, s, store.EntryFilter{}), 1+6)
		breaks, err := s.Breaks(ctx, station)
		require.NoError(t, err)
		require.Len(t, breaks, 1)
		assert.Empty(t, breaks[0].Line)
		require.ErrorIs(t, second(s.Session(ctx, "s1")), store.ErrNotFound)
		plans, err := s.StationPlansOf(ctx, station)
		require.NoError(t, err)
		assert.Len(t, plans, 2, "only the plan that was for nobody else went")
		a, err = s.Attention(ctx, a.ID)
		require.NoError(t, err)
		assert.Empty(t, a.Symptom)

		// The log still verifies, and what is sent again stays forgotten.
		_, err = s.VerifyLog(ctx, station, tp.at.Epoch)
		require.NoError(t, err)
		done := send(t, s, station, tp.all...)
		assert.Empty(t, done.Added)
		assert.Empty(t, done.Breaks)
		lines, err := s.AuditLines(ctx, store.AuditFilter{Action: "forget"})
		require.NoError(t, err)
		require.Len(t, lines, 1)
		assert.Equal(t, "K4", lines[0].Subject)
		require.NoError(t, second(s.VerifyAudit(ctx)))
	})
}

// second is the error of a call that gives a value as well.
func second[T any](_ T, err error) error { return err }
