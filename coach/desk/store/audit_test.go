package store_test

import (
	"context"
	"database/sql"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
)

func writeTrail(t testing.TB, s *store.Store, n int) {
	t.Helper()
	require.NoError(t, s.Together(t.Context(), func(ctx context.Context) error {
		for i := range n {
			by := []string{"R. Okafor", "N. Adeyemi"}[i%2]
			if err := s.Audit(ctx, store.AuditLine{At: noon.Add(time.Duration(i) * time.Second), By: by, Action: "view", Subject: "K4", Detail: `"quoted" ü`}); err != nil {
				return err
			}
		}
		return nil
	}))
}

func TestAuditTrail(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		writeTrail(t, s, 2100)
		lines, err := s.VerifyAudit(t.Context())
		require.NoError(t, err)
		assert.EqualValues(t, 2100, lines)
		newest, err := s.AuditLines(t.Context(), store.AuditFilter{Limit: 2})
		require.NoError(t, err)
		assert.Equal(t, []int64{2099, 2100}, []int64{newest[0].ID, newest[1].ID})
		next, err := s.AuditLines(t.Context(), store.AuditFilter{After: 10, Limit: 2, By: "R. Okafor", Action: "view", Subject: "K4", Since: noon, Until: noon.Add(time.Hour)})
		require.NoError(t, err)
		assert.Equal(t, []int64{11, 13}, []int64{next[0].ID, next[1].ID})
		assert.Equal(t, `"quoted" ü`, next[0].Detail)
	})
}

// Whoever can write the file can change a line; the chain says so.
func TestAuditTrailTamperedWith(t *testing.T) {
	for name, tamper := range map[string]string{
		"a line changed":   "UPDATE audit SET by_name = 'nobody' WHERE id = 7",
		"a line taken out": "DELETE FROM audit WHERE id = 7",
		"renumbered after": "DELETE FROM audit WHERE id = 7; UPDATE audit SET id = id - 1 WHERE id > 7",
		"the end cut off":  "DELETE FROM audit WHERE id > 7",
		"the end replaced": "UPDATE audit SET hash = '00', at = 5 WHERE id = 20",
		"two exchanged":    "UPDATE audit SET id = -1 WHERE id = 7; UPDATE audit SET id = 7 WHERE id = 8; UPDATE audit SET id = 8 WHERE id = -1",
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			s := inFolder(t, dir)
			writeTrail(t, s, 20)
			db, err := sql.Open("sqlite", filepath.Join(dir, "desk.db"))
			require.NoError(t, err)
			defer db.Close()
			_, err = db.Exec(tamper)
			require.NoError(t, err)
			_, err = s.VerifyAudit(t.Context())
			var at *store.AuditError
			require.ErrorAs(t, err, &at)
			assert.GreaterOrEqual(t, at.ID, int64(7))
		})
	}
}
