package journal_test

import (
	"flag"
	"math/rand/v2"
	"os"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/journal/powercut"
)

// The full counts, printed, in about twenty minutes:
//
//	go test ./coach/journal -v -timeout 60m -run 'Kill|Cut|Torn|Bit' -args -kills 200 -cuts 200 -every 1
var (
	kills = flag.Int("kills", 20, "how often a writing program is killed")
	cuts  = flag.Int("cuts", 20, "how often the power is cut under a writing program")
	seed  = flag.Uint64("seed", 1, "of the dice that say when")
)

const livesOfALog = 5 // kills or cuts that one log goes through

func TestKillAtRandomPoints(t *testing.T) {
	dice := rand.New(rand.NewPCG(*seed, 1))
	entries := 0
	for n := 0; n < *kills; n += livesOfALog {
		dir, said, seen := t.TempDir(), promise{}, history{}
		for life := 0; life < livesOfALog && n+life < *kills; life++ {
			c := startChild(t, "append", dir, "FULL")
			for range dice.IntN(60) {
				said.hear(c.says())
			}
			time.Sleep(time.Duration(dice.IntN(1000)) * time.Microsecond)
			for _, line := range c.kill() {
				said.hear(line)
			}
			require.NoError(t, said.broken(t, dir, seen))
		}
		entries += len(seen)
	}
	t.Logf("%d kills, %d entries: every acknowledged one is there, no number twice, the chain holds", *kills, entries)
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

// cutUnder lets a child write until the change at which the power fails.
func cutUnder(t testing.TB, d *powercut.Disk, at int, synchronous string, said promise) {
	t.Helper()
	d.Before(func(op powercut.Op) syscall.Errno {
		if op.N == at {
			d.Cut()
		}
		return 0
	})
	dir, unmount := mountDisk(t, d)
	c := startChild(t, "append", dir, synchronous)
	for _, line := range c.end() { // the first error ends it
		said.hear(line)
	}
	require.NoError(t, unmount())
}

// cutPower is how many of n power cuts lost something, and the last loss.
func cutPower(t testing.TB, n int, synchronous string) (lost, entries int, last error) {
	dice := rand.New(rand.NewPCG(*seed, 2))
	for cut := 0; cut < n; {
		disk, said, seen := powercut.New(), promise{}, history{}
		for life := 0; life < livesOfALog && cut < n; life++ {
			at := 1 + dice.IntN(60<<dice.IntN(5))
			cutUnder(t, disk, at, synchronous, said)
			disk = disk.Reboot(dice)
			cut++
			found := t.TempDir()
			require.NoError(t, disk.CopyTo(found))
			if err := said.broken(t, found, seen); err != nil {
				lost, last = lost+1, err
				break // this log is spoilt
			}
		}
		entries += len(seen)
	}
	return lost, entries, last
}

func TestPowerCutsLoseNothing(t *testing.T) {
	lost, entries, err := cutPower(t, *cuts, "FULL")
	require.NoError(t, err)
	require.Zero(t, lost)
	t.Logf("%d power cuts, %d entries: every acknowledged one is there, no number twice, the chain holds", *cuts, entries)
}

// The proof of the proof: with one fsync less the same cuts are noticed.
func TestPowerCutsCatchSynchronousNormal(t *testing.T) {
	lost, _, err := cutPower(t, *cuts, "NORMAL")
	assert.Greater(t, lost, *cuts/4, "the harness must see that NORMAL loses acknowledged entries")
	t.Logf("synchronous=NORMAL lost acknowledged entries in %d of %d cuts; the last: %v", lost, *cuts, err)
}
