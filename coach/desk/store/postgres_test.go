package store_test

import (
	"database/sql"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

// A server that is started anew takes every connection with it; the store goes
// on with new ones.
func TestLostConnectionsAreNotTheEnd(t *testing.T) {
	s := inPostgres(t)
	addPatient(t, s, "K4", "")
	admin, err := sql.Open("pgx", server.dsn("public"))
	require.NoError(t, err)
	defer admin.Close()
	_, err = admin.Exec("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND backend_type = 'client backend'")
	require.NoError(t, err)
	for range 20 { // each may meet a connection that is gone
		if _, err = s.AddPatient(t.Context(), store.Patient{Tag: "B2"}); err == nil {
			break
		}
	}
	require.NoError(t, err)
	require.NoError(t, s.Err())
	all, err := s.Patients(t.Context(), store.PatientFilter{})
	require.NoError(t, err)
	assert.Len(t, all, 2)
	require.Error(t, s.Backup(t.Context(), t.TempDir()+"/b.db"), "the server has backups of its own")
	require.NoError(t, s.Serve())
}
