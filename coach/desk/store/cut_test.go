package store_test

import (
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
	"evenbell/coach/journal/powercut"
)

// The full counts, printed:
//
//	go test ./coach/desk/store -v -timeout 60m -run 'Kill|Cut|Fsync' -args -kills 200 -cuts 200 -faults 100
var (
	kills  = flag.Int("kills", 6, "how often a writing program is killed")
	cuts   = flag.Int("cuts", 8, "how often the power is cut under a writing program")
	faults = flag.Int("faults", 6, "how many fsyncs and writes fail, each in a run of its own")
	seed   = flag.Uint64("seed", 1, "of the dice that say when")
)

const livesOfAStore = 4 // kills or cuts that one store goes through

func TestKillAtRandomPoints(t *testing.T) {
	dice := rand.New(rand.NewPCG(*seed, 1))
	entries := 0
	for n := 0; n < *kills; n += livesOfAStore {
		dir, said := t.TempDir(), newPromise()
		for life := n; life < min(n+livesOfAStore, *kills); life++ {
			c := startChild(t, "append", dir, "FULL", strconv.Itoa(life))
			for range 1 + dice.IntN(60) {
				said.hear(c.says())
			}
			time.Sleep(time.Duration(dice.IntN(2000)) * time.Microsecond)
			for _, line := range c.kill() {
				said.hear(line)
			}
			_, err := said.broken(t.Context(), dir)
			require.NoError(t, err)
		}
		have, err := said.broken(t.Context(), dir)
		require.NoError(t, err)
		entries += have
	}
	t.Logf("%d kills, %d entries: every acknowledged one is there, the chains hold", *kills, entries)
}

// mountDisk mounts d for a child; without FUSE it skips, unless it must not.
func mountDisk(t testing.TB, d *powercut.Disk) (dir string, unmount func() error) {
	t.Helper()
	dir = t.TempDir()
	unmount, err := powercut.Mount(dir, d)
	if err != nil && os.Getenv("EVENBELL_PEERS") != "required" {
		t.Skip("no FUSE here: ", err)
	}
	require.NoError(t, err)
	return dir, unmount
}

// laidOut is a disk with a store that was laid out before the power became
// unreliable, so that cuts fall where it is used.
func laidOut(t testing.TB) *powercut.Disk {
	t.Helper()
	d := powercut.New()
	dir, unmount := mountDisk(t, d)
	require.Equal(t, []string{"added <nil>"}, startChild(t, "add", dir, "FULL", "first").end())
	require.NoError(t, unmount())
	return d
}

// cutUnder lets a child write until so many changes from now, at which the
// power fails.
func cutUnder(t testing.TB, d *powercut.Disk, after int, synchronous, life string, said promise) {
	t.Helper()
	first := 0
	d.Before(func(op powercut.Op) syscall.Errno {
		if first == 0 {
			first = op.N
		}
		if op.N == first+after {
			d.Cut()
		}
		return 0
	})
	dir, unmount := mountDisk(t, d)
	for _, line := range startChild(t, "append", dir, synchronous, life).end() { // the first error ends it
		said.hear(line)
	}
	require.NoError(t, unmount())
}

// cutPower is how many of n power cuts lost something, and the last loss.
func cutPower(t testing.TB, n int, synchronous string) (lost, entries int, last error) {
	dice := rand.New(rand.NewPCG(*seed, 2))
	for cut := 0; cut < n; {
		disk, said := laidOut(t), newPromise()
		for life := 0; life < livesOfAStore && cut < n; life++ {
			cutUnder(t, disk, 20+dice.IntN(60<<dice.IntN(6)), synchronous, strconv.Itoa(cut), said)
			disk = disk.Reboot(dice)
			cut++
			found := t.TempDir()
			require.NoError(t, disk.CopyTo(found))
			have, err := said.broken(t.Context(), found)
			if err != nil {
				lost, last = lost+1, err
				break // this store is spoilt
			}
			entries += have
		}
	}
	return lost, entries, last
}

func TestPowerCutsLoseNothing(t *testing.T) {
	lost, entries, err := cutPower(t, *cuts, "FULL")
	require.NoError(t, err)
	require.Zero(t, lost)
	require.Positive(t, entries)
	t.Logf("%d power cuts, %d entries: every acknowledged one is there, the chains hold", *cuts, entries)
}

// The proof of the proof: with one fsync less the same cuts are noticed.
func TestPowerCutsCatchSynchronousNormal(t *testing.T) {
	lost, _, err := cutPower(t, *cuts+8, "NORMAL")
	assert.Positive(t, lost, "the harness must see that NORMAL loses acknowledged entries")
	t.Logf("synchronous=NORMAL lost acknowledged entries in %d of %d cuts; the last: %v", lost, *cuts+8, err)
}

// failing lets a child write to a disk that answers one change with an error,
// and checks what must hold then: the child stops there and tries nothing
// again, and what it has acknowledged outlives a power cut.
func failing(t *testing.T, answer func(powercut.Op) syscall.Errno) (wasOpen bool) {
	t.Helper()
	disk, said := laidOut(t), newPromise()
	var failed, after atomic.Int64
	disk.Before(func(op powercut.Op) syscall.Errno {
		if failed.Load() > 0 && op.Kind == powercut.Sync {
			after.Add(1)
		}
		errno := answer(op)
		if errno != 0 {
			failed.Add(1)
		}
		return errno
	})
	dir, unmount := mountDisk(t, disk)
	lines := startChild(t, "append", dir, "FULL", "0").end()
	require.NoError(t, unmount())
	require.Positive(t, failed.Load(), "the error came")
	for _, line := range lines {
		said.hear(line)
	}
	if wasOpen = !strings.HasPrefix(lines[0], "refused "); wasOpen {
		end := lines[len(lines)-5:]
		assert.Contains(t, end[0], "failed the store has failed and takes no more: ")
		assert.Equal(t, []string{"again true", "again true", "again true", "closed <nil>"}, end[1:])
		assert.Zero(t, after.Load(), "fsyncs after the failure")
	}
	found := t.TempDir()
	require.NoError(t, disk.Reboot(rand.New(rand.NewPCG(*seed, 3))).CopyTo(found))
	_, err := said.broken(t.Context(), found)
	require.NoError(t, err)
	return wasOpen
}

// Fsyncs fail, each in a run of its own, those of checkpoints included.
func TestAFailedFsyncIsTheLast(t *testing.T) {
	wasOpen := 0
	for n := range *faults {
		syncs := 0
		if failing(t, func(op powercut.Op) syscall.Errno {
			if op.Kind == powercut.Sync && strings.HasPrefix(op.File, "desk.db") {
				if syncs++; syncs == 1+n*3 {
					return syscall.EIO
				}
			}
			return 0
		}) {
			wasOpen++
		}
	}
	assert.Greater(t, wasOpen, *faults/2)
}

func TestAFullDiskIsTheEnd(t *testing.T) {
	wasOpen := 0
	for n := range *faults {
		grown := 0
		if failing(t, func(op powercut.Op) syscall.Errno {
			if op.Grows {
				if grown++; grown > 10+n*40 {
					return syscall.ENOSPC
				}
			}
			return 0
		}) {
			wasOpen++
		}
	}
	assert.Greater(t, wasOpen, *faults/2)
}

// What was not yet laid out when the power failed is laid out again.
func TestPowerCutsWhileItIsLaidOut(t *testing.T) {
	dice := rand.New(rand.NewPCG(*seed, 4))
	for range *cuts / 2 {
		disk, at := powercut.New(), 1+dice.IntN(120)
		disk.Before(func(op powercut.Op) syscall.Errno {
			if op.N == at {
				disk.Cut()
			}
			return 0
		})
		dir, unmount := mountDisk(t, disk)
		startChild(t, "add", dir, "FULL", "a").end()
		require.NoError(t, unmount())
		found := t.TempDir()
		require.NoError(t, disk.Reboot(dice).CopyTo(found))
		s, err := store.Open(t.Context(), found)
		require.NoError(t, err)
		addPatient(t, s, "K4", "")
		require.NoError(t, s.Close())
		_, err = store.Sound(t.Context(), filepath.Join(found, "desk.db"))
		require.NoError(t, err)
	}
}
