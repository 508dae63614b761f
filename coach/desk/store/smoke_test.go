package store

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestSmoke(t *testing.T) {
	s, err := Open(t.Context(), t.TempDir())
	require.NoError(t, err)
	defer s.Close()
	st, err := s.AddStation(t.Context(), Station{Name: "Bay 3"})
	require.NoError(t, err)
	_, err = s.SendPlan(t.Context(), StationPlan{Station: st.ID, Day: "2026-01-01", SentAt: time.Now()})
	require.NoError(t, err)
	p, err := s.PlanFor(t.Context(), st.ID)
	require.NoError(t, err)
	require.EqualValues(t, 1, p.Version)
	q, err := s.EnsureTag(t.Context(), "K4")
	require.NoError(t, err)
	q.Name = "x"
	_, err = s.UpdatePatient(t.Context(), q)
	require.NoError(t, err)
	_, err = s.UpdatePatient(t.Context(), q)
	require.ErrorIs(t, err, ErrChanged)
}
