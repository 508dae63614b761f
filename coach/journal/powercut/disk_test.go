package powercut

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// mounted skips where this machine cannot mount, unless it must.
func mounted(t *testing.T, d *Disk) string {
	t.Helper()
	dir := t.TempDir()
	unmount, err := Mount(dir, d)
	if err != nil && os.Getenv("EVENBELL_PEERS") != "required" {
		t.Skip("no FUSE here: ", err)
	}
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, unmount()) })
	return dir
}

// after is what some reboots leave of one file; "-" where its name is gone.
func after(d *Disk, name string) map[string]int {
	out := map[string]int{}
	for seed := range uint64(200) {
		f, ok := d.Reboot(rand.New(rand.NewPCG(seed, 0))).files[name]
		if !ok {
			out["-"]++
			continue
		}
		out[string(f.now)]++
	}
	return out
}

func TestWhatIsNotSyncedMayBeLost(t *testing.T) {
	d := New()
	dir := mounted(t, d)
	f, err := os.Create(filepath.Join(dir, "a"))
	require.NoError(t, err)
	defer f.Close()
	_, err = f.WriteString("one")
	require.NoError(t, err)
	require.NoError(t, f.Sync())
	assert.Equal(t, []string{"-", "one"}, keys(after(d, "a")), "the file is synced, its name is not")

	folder, err := os.Open(dir)
	require.NoError(t, err)
	defer folder.Close()
	require.NoError(t, folder.Sync())
	assert.Equal(t, []string{"one"}, keys(after(d, "a")))

	_, err = f.WriteAt([]byte("two"), 0)
	require.NoError(t, err)
	b, err := os.ReadFile(filepath.Join(dir, "a"))
	require.NoError(t, err)
	assert.Equal(t, "two", string(b), "a program reads what it wrote")
	got := after(d, "a")
	assert.Greater(t, got["one"], 20)
	assert.Greater(t, got["two"], 20)
	assert.Greater(t, len(got), 2, "and sometimes the sector is torn")

	require.NoError(t, f.Sync())
	assert.Equal(t, []string{"two"}, keys(after(d, "a")))
}

func keys(m map[string]int) []string {
	var out []string
	for _, k := range []string{"-", "one", "two"} {
		if m[k] > 0 {
			out = append(out, k)
		}
	}
	if len(out) != len(m) {
		out = append(out, "and others")
	}
	return out
}

// A later sector may be there without an earlier one.
func TestSectorsAreKeptInAnyOrder(t *testing.T) {
	d := New()
	f := &file{made: "a"}
	d.kept["a"] = f
	require.Zero(t, d.write(f, bytes.Repeat([]byte("x"), 3*sector), sector/2))
	var first, last, tornHalf int
	for content := range after(d, "a") {
		has := func(at int) bool { return len(content) > at && content[at] == 'x' }
		if has(sector/2) && !has(sector) {
			first++
		}
		if !has(sector/2) && has(3*sector) {
			last++
		}
		if len(content) > 0 && content[0] != 0 {
			tornHalf++ // nothing was ever written there
		}
	}
	assert.Positive(t, first)
	assert.Positive(t, last)
	assert.Positive(t, tornHalf)
}

func TestAFailedSyncIsNotMadeGoodByTheNext(t *testing.T) {
	d := New()
	f := &file{made: "a"}
	d.kept["a"] = f
	require.Zero(t, d.write(f, []byte("one"), 0))
	require.Zero(t, d.syncFile(f))
	require.Zero(t, d.write(f, []byte("two"), 0))
	d.Before(func(op Op) syscall.Errno {
		if op.Kind == Sync && op.Syncs == 2 {
			return syscall.EIO
		}
		return 0
	})
	assert.Equal(t, syscall.EIO, d.syncFile(f))
	assert.Zero(t, d.syncFile(f), "the kernel has told of it once")
	assert.Equal(t, "two", string(f.now))
	assert.Equal(t, map[string]int{"one": 200}, after(d, "a"))
}

func TestNamesOnAMountedDisk(t *testing.T) {
	d := New()
	dir := mounted(t, d)
	path := func(name string) string { return filepath.Join(dir, name) }
	require.NoError(t, os.WriteFile(path("a"), []byte("one"), 0o600))
	require.NoError(t, os.WriteFile(path("b"), []byte("gone"), 0o600))
	require.NoError(t, os.Rename(path("a"), path("c")))
	require.NoError(t, os.Remove(path("b")))
	require.NoError(t, os.Truncate(path("c"), 2))
	_, err := os.Stat(path("a"))
	assert.ErrorIs(t, err, os.ErrNotExist)
	listed, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, listed, 1)
	assert.Equal(t, "c", listed[0].Name())
	b, err := os.ReadFile(path("c"))
	require.NoError(t, err)
	assert.Equal(t, "on", string(b))

	d.Cut()
	assert.ErrorIs(t, os.WriteFile(path("d"), nil, 0o600), syscall.EIO)
	_, err = os.ReadFile(path("c"))
	assert.ErrorIs(t, err, syscall.EIO)
}
