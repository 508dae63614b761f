package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"
	"evenbell/coach/screening"
)

func addPatient(t testing.TB, s *store.Store, tag, name string) store.Patient {
	t.Helper()
	p, err := s.AddPatient(t.Context(), store.Patient{Tag: tag, Name: name})
	require.NoError(t, err)
	return p
}

func TestStaff(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		m, err := s.AddStaff(ctx, store.Staff{Name: "Åsa Öberg", Role: store.Assistant, Password: "argon", Created: noon})
		require.NoError(t, err)
		_, err = s.AddStaff(ctx, store.Staff{Name: "åsa öberg "})
		require.ErrorIs(t, err, store.ErrTaken)
		_, err = s.AddStaff(ctx, store.Staff{Name: "B. Ito", Role: store.Admin})
		require.NoError(t, err)
		got, err := s.StaffByName(ctx, "ÅSA ÖBERG")
		require.NoError(t, err)
		assert.Equal(t, m, got)

		require.NoError(t, s.SetRole(ctx, m.ID, store.Supervisor))
		require.NoError(t, s.SetPassword(ctx, m.ID, "new"))
		require.NoError(t, s.AddLogin(ctx, store.Login{Hash: "h", Staff: m.ID, Created: noon, Seen: noon}))
		require.NoError(t, s.SetDisabled(ctx, m.ID, true))
		_, err = s.Login(ctx, "h")
		require.ErrorIs(t, err, store.ErrNotFound, "who is locked out is logged out")
		got, err = s.Staff(ctx, m.ID)
		require.NoError(t, err)
		assert.Equal(t, store.Staff{ID: m.ID, Name: "Åsa Öberg", Role: store.Supervisor, Password: "new", Disabled: true, Created: noon}, got)
		all, err := s.StaffList(ctx)
		require.NoError(t, err)
		assert.Len(t, all, 2)
		require.ErrorIs(t, s.SetRole(ctx, 99, store.Admin), store.ErrNotFound)
	})
}

func TestLogins(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		m, err := s.AddStaff(ctx, store.Staff{Name: "B. Ito"})
		require.NoError(t, err)
		for hash, seen := range map[string]time.Duration{"old": 0, "idle": time.Hour, "fresh": 2 * time.Hour} {
			require.NoError(t, s.AddLogin(ctx, store.Login{Hash: hash, Staff: m.ID, Created: noon.Add(seen), Seen: noon.Add(seen)}))
		}
		require.NoError(t, s.TouchLogin(ctx, "old", noon.Add(3*time.Hour)))
		n, err := s.EndLoginsBefore(ctx, noon.Add(time.Minute), noon.Add(90*time.Minute))
		require.NoError(t, err)
		assert.EqualValues(t, 2, n)
		_, err = s.Login(ctx, "fresh")
		require.NoError(t, err)
		require.NoError(t, s.EndLogin(ctx, "fresh"))
		require.NoError(t, s.EndLogin(ctx, "fresh"))
		require.ErrorIs(t, s.TouchLogin(ctx, "fresh", noon), store.ErrNotFound)
		require.NoError(t, s.AddLogin(ctx, store.Login{Hash: "x", Staff: m.ID, Created: noon, Seen: noon}))
		require.NoError(t, s.EndLoginsOf(ctx, m.ID))
		_, err = s.Login(ctx, "x")
		require.ErrorIs(t, err, store.ErrNotFound)
	})
}

func TestPatients(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx := t.Context()
		mets, weeks := 5.4, 3
		p, err := s.AddPatient(ctx, store.Patient{Tag: "K4", Name: "Élodie Marsh", Record: store.Record{
			Born: "1958-04-02", Guide: "both", Notes: "likes the window",
			Precautions: []coach.Precaution{{Kind: "shoulder", Side: "left", Until: "2026-05-01"}},
			Screening:   screening.Patient{Conditions: []protocol.Key{"device"}, METs: &mets, EnduranceWeeks: &weeks, Stent: "2026-01-10"},
			Ceiling:     dose.Ceiling{Load: coach.Dumbbell(4000, coach.Kilogram), Reps: 12},
			Home:        &store.Home{Telephone: "555 0100", Alone: true, Equipment: []string{"2 kg", "band 1"}},
		}})
		require.NoError(t, err)
		got, err := s.PatientByTag(ctx, "K4")
		require.NoError(t, err)
		assert.Equal(t, p, got)
		_, err = s.AddPatient(ctx, store.Patient{Tag: "K4"})
		require.ErrorIs(t, err, store.ErrTaken)

		unnamed, err := s.EnsureTag(ctx, "A1")
		require.NoError(t, err)
		again, err := s.EnsureTag(ctx, "A1")
		require.NoError(t, err)
		assert.Equal(t, unnamed, again)
		addPatient(t, s, "B2", "bob")
		all, err := s.Patients(ctx, store.PatientFilter{})
		require.NoError(t, err)
		assert.Equal(t, []string{"B2", "K4", "A1"}, []string{all[0].Tag, all[1].Tag, all[2].Tag}, "by name, the unnamed last")
		found, err := s.Patients(ctx, store.PatientFilter{Text: "éLO"})
		require.NoError(t, err)
		require.Len(t, found, 1)

		got.Left, got.Kept = "2026-03-01", true
		saved, err := s.UpdatePatient(ctx, got)
		require.NoError(t, err)
		_, err = s.UpdatePatient(ctx, got)
		require.ErrorIs(t, err, store.ErrChanged, "from an older reading")
		got, err = s.Patient(ctx, p.ID)
		require.NoError(t, err)
		assert.Equal(t, saved, got)
		current, err := s.Patients(ctx, store.PatientFilter{Current: true})
		require.NoError(t, err)
		assert.Len(t, current, 2)
		_, err = s.Patient(ctx, 99)
		require.ErrorIs(t, err, store.ErrNotFound)
	})
}

func TestScreenings(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		p, yes := addPatient(t, s, "K4", "Élodie Marsh"), true
		today := screening.Today{Day: "2026-03-02", Well: &yes}
		result, err := screening.Screen(protocol.Default(), screening.Patient{}, today)
		require.NoError(t, err)
		for n := range 3 {
			_, err = s.AddScreening(t.Context(), store.Screening{Patient: p.ID, Day: "2026-03-02", Today: today, Result: result, By: "R. Okafor", At: noon.Add(time.Duration(n) * time.Minute)})
			require.NoError(t, err)
		}
		got, err := s.ScreeningsOf(t.Context(), p.ID, 2)
		require.NoError(t, err)
		require.Len(t, got, 2)
		assert.Equal(t, noon.Add(2*time.Minute), got[0].At)
		assert.Equal(t, result.Verdict, got[0].Result.Verdict)
		assert.Len(t, got[0].Result.Lines, len(result.Lines))
		assert.True(t, *got[0].Today.Well)
	})
}

func TestPrescriptions(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx, p := t.Context(), addPatient(t, s, "K4", "Élodie Marsh")
		_, err := s.InForce(ctx, p.ID)
		require.ErrorIs(t, err, store.ErrNotFound)
		add := func() store.Prescription {
			v, err := s.AddPrescription(ctx, store.Prescription{Patient: p.ID, Text: "draft", Fingerprint: "f", Written: "N. Adeyemi", WrittenAt: noon, Approved: "nobody asked"})
			require.NoError(t, err)
			assert.Empty(t, v.Approved, "what is added is a draft")
			return v
		}
		first, second, third := add(), add(), add()
		assert.EqualValues(t, 3, third.Version)
		_, err = s.Approve(ctx, first.ID, "with approval", "R. Okafor", noon)
		require.NoError(t, err)
		_, err = s.Approve(ctx, first.ID, "", "R. Okafor", noon)
		require.ErrorIs(t, err, store.ErrState, "twice")
		_, err = s.Approve(ctx, third.ID, "", "R. Okafor", noon.Add(time.Hour))
		require.NoError(t, err)
		_, err = s.Approve(ctx, second.ID, "", "R. Okafor", noon)
		require.ErrorIs(t, err, store.ErrState, "an older draft does not replace a newer version")
		now, err := s.InForce(ctx, p.ID)
		require.NoError(t, err)
		assert.Equal(t, third.ID, now.ID)
		assert.Equal(t, noon.Add(time.Hour), now.ApprovedAt)
		assert.Equal(t, "draft", now.Text)
		was, err := s.Prescription(ctx, first.ID)
		require.NoError(t, err)
		assert.True(t, was.Withdrawn)
		assert.Equal(t, "with approval", was.Text)
		require.NoError(t, s.Withdraw(ctx, third.ID))
		require.ErrorIs(t, s.Withdraw(ctx, third.ID), store.ErrState)
		require.ErrorIs(t, s.Withdraw(ctx, 99), store.ErrNotFound)
		_, err = s.InForce(ctx, p.ID)
		require.ErrorIs(t, err, store.ErrNotFound)
		all, err := s.PrescriptionsOf(ctx, p.ID)
		require.NoError(t, err)
		assert.Equal(t, third.ID, all[0].ID)
		_, err = s.AddPrescription(ctx, store.Prescription{Patient: 99})
		require.Error(t, err, "of a patient there is not")
	})
}

func TestDecisions(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		ctx, p := t.Context(), addPatient(t, s, "K4", "Élodie Marsh")
		to := coach.Dose{Load: coach.Dumbbell(2500, coach.Kilogram), Reps: 12, Sets: 1, Stage: "holding-on"}
		d, err := s.AddDecision(ctx, store.Decision{Patient: p.ID, Exercise: "heel-raise", Session: "s1",
			Proposal: dose.Proposal{Exercise: "heel-raise", Action: "up", To: to, Reasons: []string{"well"}},
			Answer:   store.Changed, To: to, Reason: "slower", By: "R. Okafor", At: noon})
		require.NoError(t, err)
		got, err := s.Decision(ctx, d.ID)
		require.NoError(t, err)
		assert.Equal(t, d, got)
		require.NoError(t, s.UseDecision(ctx, d.ID, 7))
		require.ErrorIs(t, s.UndoDecision(ctx, d.ID), store.ErrState, "it is in a prescription")
		require.ErrorIs(t, s.UseDecision(ctx, d.ID, 8), store.ErrState)
		other, err := s.AddDecision(ctx, store.Decision{Patient: p.ID, Answer: store.Declined, By: "R. Okafor", At: noon.Add(time.Hour)})
		require.NoError(t, err)
		require.NoError(t, s.UndoDecision(ctx, other.ID))
		require.ErrorIs(t, s.UseDecision(ctx, other.ID, 8), store.ErrState)
		all, err := s.DecisionsOf(ctx, p.ID)
		require.NoError(t, err)
		require.Len(t, all, 2)
		assert.True(t, all[0].Undone)
		assert.EqualValues(t, 7, all[1].Used)
		require.ErrorIs(t, s.UndoDecision(ctx, 99), store.ErrNotFound)
	})
}

func TestTogetherIsAllOrNothing(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		second := errors.New("second thoughts")
		err := s.Together(t.Context(), func(ctx context.Context) error {
			if _, err := s.AddPatient(ctx, store.Patient{Tag: "K4"}); err != nil {
				return err
			}
			if err := s.Audit(ctx, store.AuditLine{By: "R. Okafor", Action: "add"}); err != nil {
				return err
			}
			if _, err := s.PatientByTag(ctx, "K4"); err != nil {
				return err // it sees what it did
			}
			_, err := s.PatientByTag(t.Context(), "K4")
			assert.ErrorIs(t, err, store.ErrNotFound, "and nobody else does")
			return second
		})
		require.ErrorIs(t, err, second)
		_, err = s.PatientByTag(t.Context(), "K4")
		require.ErrorIs(t, err, store.ErrNotFound)
		lines, err := s.VerifyAudit(t.Context())
		require.NoError(t, err)
		assert.Zero(t, lines)

		// A statement that failed spoils it, whatever becomes of the error.
		require.Error(t, s.Together(t.Context(), func(ctx context.Context) error {
			_, _ = s.AddPrescription(ctx, store.Prescription{Patient: 99})
			return nil
		}))
		assert.Panics(t, func() { _ = s.Together(t.Context(), func(context.Context) error { panic("work") }) })
		addPatient(t, s, "K4", "") // and the store goes on
	})
}

func TestChangesAreNoticed(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		before, err := s.Version(t.Context())
		require.NoError(t, err)
		changed := s.Changed()
		addPatient(t, s, "K4", "")
		<-changed
		after, err := s.Version(t.Context())
		require.NoError(t, err)
		assert.Equal(t, before+1, after)
		select {
		case <-s.Changed():
			t.Error("nothing else has changed")
		default:
		}
	})
}
