package journal_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/journal/powercut"
)

// failing lets a child write to a disk that answers some changes with an
// error, and checks what must hold whenever one is: the child stops there
// and tries nothing again, and what it has acknowledged outlives a power cut.
// It reports whether the log had been open when the error came.
func failing(t *testing.T, answer func(powercut.Op) syscall.Errno) (wasOpen bool) {
	t.Helper()
	disk := powercut.New()
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
	c := startChild(t, "append", dir, "FULL")
	said, lines := promise{}, []string(nil)
	for _, line := range c.end() {
		said.hear(line)
		lines = append(lines, line)
	}
	require.NoError(t, unmount())
	require.Positive(t, failed.Load(), "the error came")
	wasOpen = !strings.HasPrefix(lines[len(lines)-1], "refused ")
	if wasOpen {
		require.Greater(t, len(lines), 5)
		end := lines[len(lines)-5:]
		assert.True(t, strings.HasPrefix(end[0], "failed the log has failed and takes no more: "), end[0])
		assert.Equal(t, []string{"again true", "again true", "again true", "closed <nil>"}, end[1:])
		assert.Zero(t, after.Load(), "fsyncs after the failure")
	}
	found := t.TempDir()
	require.NoError(t, disk.Reboot(rand.New(rand.NewPCG(*seed, 3))).CopyTo(found))
	require.NoError(t, said.broken(t, found, history{}))
	return wasOpen
}

// Every fsync of a file fails once, those of SQLite's checkpoints included.
func TestAFailedFsyncIsTheLast(t *testing.T) {
	wasOpen := 0
	for n := 1; n <= 40; n++ {
		syncs := 0
		if failing(t, func(op powercut.Op) syscall.Errno {
			if op.Kind == powercut.Sync && op.File != "" {
				if syncs++; syncs == n {
					return syscall.EIO
				}
			}
			return 0
		}) {
			wasOpen++
		}
	}
	assert.Greater(t, wasOpen, 30)
}

// The disk fills up: what needs no more room still works, what does fails.
func TestAFullDisk(t *testing.T) {
	wasOpen := 0
	for full := 5; full <= 305; full += 15 {
		if failing(t, func(op powercut.Op) syscall.Errno {
			if op.Grows && op.N >= full {
				return syscall.ENOSPC
			}
			return 0
		}) {
			wasOpen++
		}
	}
	assert.Greater(t, wasOpen, 10)
}

func TestAFailedWrite(t *testing.T) {
	wasOpen := 0
	for n := 20; n <= 320; n += 15 {
		if failing(t, func(op powercut.Op) syscall.Errno {
			if op.Kind == powercut.Write && op.N >= n && strings.HasPrefix(op.File, "journal.db") && !strings.HasSuffix(op.File, "-shm") {
				return syscall.EIO
			}
			return 0
		}) {
			wasOpen++
		}
	}
	assert.Greater(t, wasOpen, 10)
}

// While an fsync hangs, recording goes on: the fsync is let go only when 200
// more entries have been recorded, so a recorder that waited would hang here.
func TestAStalledFsyncDoesNotStallRecording(t *testing.T) {
	const more = 200
	disk := powercut.New()
	held, release := make(chan struct{}), make(chan struct{})
	disk.Before(func(op powercut.Op) syscall.Errno {
		if op.Kind == powercut.Sync && op.Syncs == 30 {
			close(held)
			<-release
		}
		return 0
	})
	dir, unmount := mountDisk(t, disk)
	c := startChild(t, "record", dir, "FULL")
	said := promise{}
	recorded, waiting := 0, 0
	listen := func() {
		line := c.says()
		require.NotEmpty(t, line, "the child is alive")
		said.hear(line)
		_, _ = fmt.Sscanf(line, "recorded %d %d", &recorded, &waiting)
	}
	for stalled := false; !stalled; {
		listen()
		select {
		case <-held:
			stalled = true
		default:
		}
	}
	atStall := recorded
	for recorded < atStall+more {
		listen()
	}
	assert.GreaterOrEqual(t, waiting, more, "and how far the disk is behind is known")
	close(release)
	durable := func() (n int64) {
		for _, seq := range said {
			n = seq - 1 // without the start
		}
		return n
	}
	for durable() < int64(atStall+more) {
		listen()
	}
	for _, line := range c.kill() {
		said.hear(line)
	}
	require.NoError(t, unmount())
	found := t.TempDir()
	require.NoError(t, disk.CopyTo(found))
	require.NoError(t, said.broken(t, found, history{}))
}

// slowLog is an Appender whose disk is worked by hand.
type slowLog struct {
	mono    atomic.Int64
	commits chan []coach.Entry
	answers chan error
}

func (l *slowLog) Mono() int64 { return l.mono.Add(1) }

func (l *slowLog) Append(es ...coach.Entry) (journal.Position, error) {
	l.commits <- es
	return journal.Position{Epoch: "e", Seq: es[len(es)-1].MonoNS}, <-l.answers
}

func TestARecorderGathersWhatWaits(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	l := &slowLog{commits: make(chan []coach.Entry), answers: make(chan error)}
	var logged []int64
	r := journal.NewRecorder(l, func(p journal.Position) { logged = append(logged, p.Seq) }, nil)
	dated := rep(9)
	dated.MonoNS = 77
	r.Record(rep(1)) // at 1
	first := <-l.commits
	r.Record(rep(2), rep(3)) // both at 2
	r.Record(dated)          // at 3, of 77
	n, ns := r.Waiting()     // at 4
	assert.Equal(t, 4, n)
	assert.EqualValues(t, 4-1, ns)
	l.answers <- nil
	second := <-l.commits
	go func() { l.answers <- nil }()
	require.NoError(t, r.Close())

	assert.Len(t, first, 1)
	var monos []int64
	for _, e := range second {
		monos = append(monos, e.MonoNS)
	}
	assert.Equal(t, []int64{2, 2, 77}, monos, "dated when recorded, in order, in one commit")
	assert.Equal(t, []int64{1, 77}, logged)
	n, ns = r.Waiting()
	assert.Zero(t, n)
	assert.Zero(t, ns)
	r.Record(rep(4))
	require.NoError(t, r.Close(), "again, and what comes after it is dropped")
}

func TestARecorderSaysOnceThatItFailed(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	l := &slowLog{commits: make(chan []coach.Entry), answers: make(chan error)}
	var told []error
	r := journal.NewRecorder(l, func(journal.Position) { t.Error("nothing was logged") }, func(err error) { told = append(told, err) })
	r.Record(rep(1))
	<-l.commits
	r.Record(rep(2))
	gone := errors.New("card gone")
	l.answers <- gone
	assert.ErrorIs(t, r.Close(), gone)
	r.Record(rep(3))
	assert.ErrorIs(t, r.Close(), gone)
	assert.Equal(t, []error{gone}, told)
}
