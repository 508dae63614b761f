package store_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"evenbell/coach/desk/store"
)

func TestSeveralProgramsWriteAtOnce(t *testing.T) {
	dir := t.TempDir()
	s := inFolder(t, dir)
	changed := s.Changed()
	var children []*program
	for n := range 3 { // the first of them finds the store laid out or not
		children = append(children, startChild(t, "add", dir, "FULL", strconv.Itoa(n)))
	}
	for n := range 40 {
		addPatient(t, s, "here-"+strconv.Itoa(n), "")
	}
	for _, c := range children {
		assert.Equal(t, []string{"added <nil>"}, c.end())
	}
	all, err := s.Patients(t.Context(), store.PatientFilter{})
	require.NoError(t, err)
	assert.Len(t, all, 160)
	ids := map[int64]bool{}
	for _, p := range all {
		ids[p.ID] = true
	}
	assert.Len(t, ids, 160, "no id twice")
	<-changed
}

func TestAnotherProgramsChangeIsNoticed(t *testing.T) {
	dir := t.TempDir()
	s := inFolder(t, dir)
	changed := s.Changed()
	assert.Equal(t, []string{"added <nil>"}, startChild(t, "add", dir, "FULL", "x").end())
	select {
	case <-changed:
	case <-time.After(time.Minute):
		t.Fatal("nothing was noticed")
	}
}

func TestTwoProgramsLayItOutAtOnce(t *testing.T) {
	dir := t.TempDir()
	var children []*program
	for n := range 4 {
		children = append(children, startChild(t, "add", dir, "FULL", strconv.Itoa(n)))
	}
	for _, c := range children {
		assert.Equal(t, []string{"added <nil>"}, c.end())
	}
}

func TestOneServerAFolder(t *testing.T) {
	dir := t.TempDir()
	c := startChild(t, "serve", dir, "FULL", "")
	require.Equal(t, "serving <nil>", c.says())
	s := inFolder(t, dir) // commands run beside it
	require.ErrorIs(t, s.Serve(), store.ErrInUse)
	_, err := store.Restore(t.Context(), dir, backup(t, s))
	require.ErrorIs(t, err, store.ErrInUse)
	c.kill()
	require.NoError(t, s.Serve(), "the lock of a killed server is free")
}

// backup makes a backup of s.
func backup(t testing.TB, s *store.Store) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "backup.db")
	require.NoError(t, s.Backup(t.Context(), file))
	return file
}

func TestBackupWhileItIsWritten(t *testing.T) {
	s := inFolder(t, t.TempDir())
	tp, station := newTape(t), addStation(t, s, "Bay 1")
	tp.session("s1", "K4", 2000)
	var sent atomic.Int64
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error)
	go func() {
		for n := 0; n+20 <= len(tp.all) && ctx.Err() == nil; n += 20 {
			if _, err := s.Append(ctx, store.Batch{Station: station, Records: tp.all[n : n+20], Received: noon}); err != nil {
				done <- err
				return
			}
			sent.Store(int64(n + 20))
		}
		done <- nil
	}()
	for range 3 {
		before := sent.Load()
		dir := t.TempDir()
		require.NoError(t, s.Backup(t.Context(), filepath.Join(dir, "b.db")))
		left, err := os.ReadDir(dir)
		require.NoError(t, err)
		assert.Len(t, left, 1, "nothing beside it")
		to := t.TempDir()
		_, err = store.Restore(t.Context(), to, filepath.Join(dir, "b.db"))
		require.NoError(t, err)
		copied := inFolder(t, to)
		mark, err := copied.Mark(t.Context(), station, tp.at.Epoch)
		if before == 0 && errors.Is(err, store.ErrNotFound) {
			continue
		}
		require.NoError(t, err)
		assert.GreaterOrEqual(t, mark.Mark, before)
		_, err = copied.VerifyLog(t.Context(), station, tp.at.Epoch)
		require.NoError(t, err)
	}
	stop()
	if err := <-done; !errors.Is(err, context.Canceled) {
		require.NoError(t, err)
	}
	require.Error(t, s.Backup(t.Context(), filepath.Join(t.TempDir(), "no", "such", "folder.db")))
}

func TestRestoreKeepsTheOldStore(t *testing.T) {
	dir := t.TempDir()
	s, err := store.Open(t.Context(), dir)
	require.NoError(t, err)
	addPatient(t, s, "K4", "then")
	file := backup(t, s)
	addPatient(t, s, "B2", "later")
	require.NoError(t, s.Close())
	for n := 1; n <= 2; n++ {
		kept, err := store.Restore(t.Context(), dir, file)
		require.NoError(t, err)
		assert.Equal(t, filepath.Join(dir, "desk-before-restore-"+strconv.Itoa(n)+".db"), kept)
	}
	s = inFolder(t, dir)
	all, err := s.Patients(t.Context(), store.PatientFilter{})
	require.NoError(t, err)
	assert.Len(t, all, 1)
	old := t.TempDir()
	_, err = store.Restore(t.Context(), old, filepath.Join(dir, "desk-before-restore-1.db"))
	require.NoError(t, err)
	all, err = inFolder(t, old).Patients(t.Context(), store.PatientFilter{})
	require.NoError(t, err)
	assert.Len(t, all, 2, "what was there is still there")
}

func TestRestoreRefusesWhatIsNoBackup(t *testing.T) {
	dir := t.TempDir()
	s, err := store.Open(t.Context(), dir)
	require.NoError(t, err)
	addPatient(t, s, "K4", "")
	good := backup(t, s)
	require.NoError(t, s.Close())
	text, err := os.ReadFile(good)
	require.NoError(t, err)
	files := map[string][]byte{"empty": {}, "text": []byte("no database"), "cut": text[:len(text)/2]}
	spoilt := append([]byte(nil), text...)
	for i := len(spoilt) / 3; i < len(spoilt)/3+8192; i++ {
		spoilt[i] ^= 0x5a
	}
	files["spoilt"] = spoilt
	for name, text := range files {
		file := filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(file, text, 0o600))
		_, err := store.Restore(t.Context(), dir, file)
		require.Error(t, err, name)
	}
	_, err = store.Restore(t.Context(), dir, filepath.Join(dir, "absent"))
	require.ErrorIs(t, err, os.ErrNotExist)
	changeSchema(t, good, 99)
	_, err = store.Restore(t.Context(), dir, good)
	require.ErrorIs(t, err, store.ErrNewer)
	_, err = inFolder(t, dir).PatientByTag(t.Context(), "K4")
	require.NoError(t, err, "everything is as it was")
	left, err := filepath.Glob(filepath.Join(dir, "*restor*"))
	require.NoError(t, err)
	assert.Empty(t, left)
}

// changeSchema makes a file say that it has a schema of that number.
func changeSchema(t testing.TB, file string, version int) {
	t.Helper()
	db, err := sql.Open("sqlite", file)
	require.NoError(t, err)
	_, err = db.Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES ($1, true)", version)
	require.NoError(t, errors.Join(err, db.Close()))
}

func TestAStoreOfANewerProgramIsRefused(t *testing.T) {
	dir := t.TempDir()
	s, err := store.Open(t.Context(), dir)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	changeSchema(t, filepath.Join(dir, "desk.db"), 99)
	_, err = store.Open(t.Context(), dir)
	require.ErrorIs(t, err, store.ErrNewer)
	assert.ErrorContains(t, err, "99")
}

func TestANewSchemaComesAfterABackup(t *testing.T) {
	dir := t.TempDir()
	s, err := store.Open(t.Context(), dir)
	require.NoError(t, err)
	addPatient(t, s, "K4", "")
	require.NoError(t, s.Close())
	next := store.NextMigration(t, "-- +goose Up\nCREATE TABLE more (x BIGINT);\nINSERT INTO more VALUES (1);\n")
	s, err = store.Open(t.Context(), dir)
	require.NoError(t, err)
	_, err = s.PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
	require.NoError(t, s.Close())
	before := filepath.Join(dir, fmt.Sprintf("desk-before-schema-%d.db", next))
	schema, err := store.Sound(t.Context(), before)
	require.NoError(t, err)
	assert.Equal(t, next-1, schema)
	_, err = store.Restore(t.Context(), dir, before)
	require.NoError(t, err)
	inFolder(t, dir) // brings it up to date again
}

func TestABrokenMigrationChangesNothing(t *testing.T) {
	dir := t.TempDir()
	s, err := store.Open(t.Context(), dir)
	require.NoError(t, err)
	addPatient(t, s, "K4", "")
	require.NoError(t, s.Close())
	t.Run("broken", func(t *testing.T) {
		next := store.NextMigration(t, "-- +goose Up\nCREATE TABLE more (x BIGINT);\nCREATE TABLE patient (x BIGINT);\n")
		_, err := store.Open(t.Context(), dir)
		require.ErrorContains(t, err, fmt.Sprintf("from %d to %d", next-1, next))
	})
	_, err = inFolder(t, dir).PatientByTag(t.Context(), "K4")
	require.NoError(t, err)
}

func TestTheSchemaIsNotChangedUnderARunningProgram(t *testing.T) {
	dir := t.TempDir()
	c := startChild(t, "serve", dir, "FULL", "")
	require.Equal(t, "serving <nil>", c.says())
	store.NextMigration(t, "-- +goose Up\nCREATE TABLE more (x BIGINT);\n")
	ctx, stop := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer stop()
	_, err := store.Open(ctx, dir)
	require.Error(t, err)
	c.kill()
	inFolder(t, dir)
}

func TestAnotherProgramsFileIsRefused(t *testing.T) {
	dir := t.TempDir()
	db, err := sql.Open("sqlite", filepath.Join(dir, "desk.db"))
	require.NoError(t, err)
	_, err = db.Exec("CREATE TABLE theirs (x)")
	require.NoError(t, errors.Join(err, db.Close()))
	_, err = store.Open(t.Context(), dir)
	require.ErrorContains(t, err, "is not a desk's database")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "desk.db"), []byte("this is no database at all, but long enough to look at"), 0o600))
	_, err = store.Open(t.Context(), dir)
	require.Error(t, err)
}

func TestClosingLeavesNothingRunning(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	s, err := store.Open(t.Context(), t.TempDir())
	require.NoError(t, err)
	addStation(t, s, "Bay 1")
	_, err = s.Stations(t.Context())
	require.NoError(t, err)
	require.NoError(t, s.Close())
	require.NoError(t, s.Close())
}
