package journal_test

import (
	"bytes"
	"database/sql"
	"errors"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/journal"
)

var every = flag.Int("every", 401, "tear a log, or flip a bit of it, at every so many bytes")

// folder is a journal's folder in memory: file name → content.
type folder map[string][]byte

func readFolder(dir string) folder {
	out := folder{}
	for _, name := range []string{"journal.db", "journal.db-wal", "journal.mark"} {
		if b, err := os.ReadFile(filepath.Join(dir, name)); err == nil {
			out[name] = b
		}
	}
	return out
}

// with writes the folder, one file changed, to a new place.
func (f folder) with(t testing.TB, dir, name string, content []byte) {
	t.Helper()
	require.NoError(t, os.RemoveAll(dir))
	require.NoError(t, os.Mkdir(dir, 0o700))
	for n, b := range f {
		if n == name {
			b = content
		}
		require.NoError(t, os.WriteFile(filepath.Join(dir, n), b, 0o600))
	}
}

// look is what a folder holds, or why it cannot be trusted.
func look(dir string) ([]journal.Record, error) {
	r, err := journal.OpenReader(dir)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	if _, err := r.Verify(); err != nil {
		return nil, err
	}
	return r.After(journal.Position{}, 1_000_000)
}

// abandoned is a journal as a killed program leaves it: two epochs, the
// newest entries only in SQLite's log.
func abandoned(t testing.TB) (folder, []journal.Record) {
	t.Helper()
	dir := t.TempDir()
	j := open(t, dir)
	appendTo(t, j, everyKind()...)
	require.NoError(t, j.Close())
	j = open(t, dir)
	for i := range 12 {
		appendTo(t, j, rep(i))
	}
	records := all(t, j.Reader)
	return readFolder(dir), records
}

// SQLite's log torn at every byte: the newest entries are missed, because the
// mark knows of them. Where the mark is gone as well, what is left is a log
// that ended earlier, and sound.
func TestTornAtEveryByte(t *testing.T) {
	files, want := abandoned(t)
	wal := files["journal.db-wal"]
	dir := filepath.Join(t.TempDir(), "torn")
	missed, shorter := 0, map[int]bool{}
	for size := 0; size < len(wal); size += *every {
		files.with(t, dir, "journal.db-wal", wal[:size])
		got, err := look(dir)
		if err == nil {
			require.Equal(t, want, got, "torn at %d of %d", size, len(wal)) // only padding was lost
			continue
		}
		var damage *journal.CorruptError
		require.ErrorAs(t, err, &damage)
		require.Equal(t, journal.LostTail, damage.Damage, "torn at %d", size)
		require.Equal(t, want[len(want)-1].Position, damage.Position)
		_, err = journal.Open(dir)
		require.ErrorAs(t, err, &damage, "and nothing is written to it")
		missed++

		require.NoError(t, os.Remove(filepath.Join(dir, "journal.mark")))
		got, err = look(dir)
		require.NoError(t, err)
		require.Equal(t, want[:len(got)], got)
		shorter[len(got)] = true
	}
	assert.Greater(t, missed, len(wal) / *every / 2)
	assert.Greater(t, len(shorter), 10, "it was torn in every commit")
	t.Logf("torn at every %d of %d bytes: missed %d times, else nothing was lost", *every, len(wal), missed)
}

// A flipped bit anywhere is found, or it was in a place that means nothing
// and every entry is what it was. None is ever handed out changed, or lost
// without a word.
func TestOneFlippedBit(t *testing.T) {
	files, want := abandoned(t)
	closed := folder{"journal.mark": files["journal.mark"], "journal.db": checkpointed(t, files)}
	dice := rand.New(rand.NewPCG(*seed, 4))
	dir := filepath.Join(t.TempDir(), "flipped")
	for _, c := range []struct {
		files folder
		name  string
	}{{files, "journal.db"}, {files, "journal.db-wal"}, {files, "journal.mark"}, {closed, "journal.db"}} {
		found, harmless := 0, 0
		content := c.files[c.name]
		for at := dice.IntN(*every); at < len(content); at += *every {
			b := bytes.Clone(content)
			b[at] ^= 1 << dice.IntN(8)
			c.files.with(t, dir, c.name, b)
			got, err := look(dir)
			var damage *journal.CorruptError
			switch {
			case err == nil:
				require.Equal(t, want, got, "%s byte %d", c.name, at)
				harmless++
			case errors.As(err, &damage), errors.Is(err, journal.ErrNoLog):
				found++
			default:
				require.NoError(t, err, "%s byte %d: damage has a type", c.name, at)
			}
		}
		t.Logf("%s of %d bytes, a bit in every %d: %d found, %d in places that mean nothing", c.name, len(content), *every, found, harmless)
	}
}

// checkpointed is the file once SQLite's log has been moved into it.
func checkpointed(t testing.TB, f folder) []byte {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "closed")
	f.with(t, dir, "", nil)
	execute(t, dir, "PRAGMA wal_checkpoint(TRUNCATE)")
	return readFolder(dir)["journal.db"]
}

// execute does something to the file that no journal would.
func execute(t testing.TB, dir string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", filepath.Join(dir, "journal.db"))
	require.NoError(t, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, s := range statements {
		_, err := db.Exec(s)
		require.NoError(t, err)
	}
}

// Every kind of damage has its name, and says where it is.
func TestDamageHasAName(t *testing.T) {
	files, records := abandoned(t)
	first, second := records[0].Epoch, records[len(records)-1].Epoch
	for _, c := range []struct {
		name, do string
		want     journal.Damage
		at       journal.Position
	}{
		{"a changed line", `UPDATE entry SET line = CAST(replace(line, 'K4', 'K5') AS BLOB) WHERE ordinal = 2 AND seq = 5`, journal.DamagedRow, journal.Position{Epoch: second, Seq: 5}},
		{"a changed hash", `UPDATE entry SET hash = zeroblob(32) WHERE ordinal = 1 AND seq = 3`, journal.DamagedRow, journal.Position{Epoch: first, Seq: 3}},
		{"a changed checksum", `UPDATE entry SET crc = crc + 1 WHERE ordinal = 1 AND seq = 3`, journal.DamagedRow, journal.Position{Epoch: first, Seq: 3}},
		{"a renumbered entry", `UPDATE entry SET seq = 99 WHERE ordinal = 2 AND seq = 13`, journal.DamagedRow, journal.Position{Epoch: second, Seq: 99}},
		{"an entry taken out", `DELETE FROM entry WHERE ordinal = 1 AND seq = 4`, journal.MissingEntry, journal.Position{Epoch: first, Seq: 4}},
		{"the end of an epoch taken off", `DELETE FROM entry WHERE ordinal = 1 AND seq > 4`, journal.BrokenEpoch, journal.Position{Epoch: second, Seq: 1}},
		{"the newest entry taken off", `DELETE FROM entry WHERE ordinal = 2 AND seq = 13`, journal.LostTail, journal.Position{Epoch: second, Seq: 13}},
		{"the newest epoch taken out", `DELETE FROM epoch WHERE ordinal = 2`, journal.DamagedFile, journal.Position{}},
		{"the first epoch taken out", `DELETE FROM epoch WHERE ordinal = 1`, journal.BrokenEpoch, journal.Position{Epoch: second}},
		{"more acknowledged than was", `UPDATE epoch SET acked = 7 WHERE ordinal = 1`, journal.DamagedRow, journal.Position{Epoch: first}},
		{"another table", `CREATE TABLE more (a)`, journal.DamagedFile, journal.Position{}},
		{"another program's file", `PRAGMA application_id = 7`, journal.DamagedFile, journal.Position{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "damaged")
			files.with(t, dir, "", nil)
			execute(t, dir, c.do)
			_, err := look(dir)
			var damage *journal.CorruptError
			require.ErrorAs(t, err, &damage)
			assert.Equal(t, c.want, damage.Damage, damage.Error())
			assert.Equal(t, c.at, damage.Position)
		})
	}
}

// What is set aside stays as it was found; the log begun in its place names
// the entry that the old one had come to.
func TestSetAside(t *testing.T) {
	files, records := abandoned(t)
	dir := filepath.Join(t.TempDir(), "log")
	files.with(t, dir, "journal.db-wal", files["journal.db-wal"][:20000])
	_, err := journal.Open(dir)
	assert.ErrorContains(t, err, "the newest entries are lost")
	aside, err := journal.SetAside(dir)
	require.NoError(t, err)
	assert.Equal(t, filepath.Join(dir, "journal-damaged-1"), aside)
	assert.Equal(t, files["journal.db"], readFolder(aside)["journal.db"])
	assert.Equal(t, files["journal.db-wal"][:20000], readFolder(aside)["journal.db-wal"])

	j := open(t, dir)
	last := records[len(records)-1]
	assert.Equal(t, last.Seq, j.Previous().PreviousSeq)
	assert.Equal(t, last.Hash.String(), j.Previous().PreviousHash)
	require.NoError(t, j.Close())
	assert.Equal(t, j.Previous(), verify(t, dir).Follows)
	again, err := journal.SetAside(dir)
	require.NoError(t, err)
	assert.Equal(t, filepath.Join(dir, "journal-damaged-2"), again)
}
