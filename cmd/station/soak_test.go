package main

import (
	"flag"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

var soak = flag.Duration("soak", 40*time.Minute, "how long the station coaches in its own time")

// soakSpeed is far below what a core can do, so that the program waits at the
// silent clock as it would at a sound card.
const soakSpeed = 300

// soakPace is how long a person of the soak test waits between two presses: an
// answer about the effort may be changed for four seconds.
const soakPace = 10 * time.Second / soakSpeed

// A station coaches one session after the other: willing people, people who
// walk away, and stops with their release. Its memory stays flat: the median
// of the last quarter of the sessions is within a tenth of that of the second
// (the first fills what is kept), or 8 MB where there are few. Time and people go by the log, so a machine
// that is busy makes the test longer and nothing else.
func TestSoak(t *testing.T) {
	t.Parallel()
	w := newWall(t, soakSpeed)
	l := w.start(t)
	c := &crowd{t: t, life: l, log: w.follow(t, l)}
	for c.coached < *soak || len(c.rss) < 8 {
		c.next()
		t.Logf("%s: %s, %d KB", c.coached.Round(time.Minute), c.outcome, c.rss[len(c.rss)-1])
	}
	cpu := cpuTime(t, l.cmd.Process.Pid)
	require.NoError(t, l.cmd.Process.Signal(unix.SIGTERM))
	l.end()
	assert.True(t, l.cmd.ProcessState.Success(), "it ended with %s", l.cmd.ProcessState)
	n := len(c.rss)
	second, last := median(c.rss[n/4:n/2]), median(c.rss[3*n/4:])
	t.Logf("%s in %d sessions %v, processor %s (%.2f %% of a core in real time), memory %d KB in the second quarter, %d KB in the last, %d KB at most",
		c.coached.Round(time.Minute), n, c.ends, cpu, 100*cpu.Seconds()/c.coached.Seconds(), second, last, slices.Max(c.rss))
	assert.GreaterOrEqual(t, c.ends["completed"], n/4, "it did not go on coaching")
	assert.Positive(t, c.ends["abandoned"])
	assert.Positive(t, c.ends["stopped"])
	// Eight sessions are too few to tell growth from a heap that has not yet
	// found its size: the short tier only sees a leak of a megabyte a session.
	room := second / 10
	if n < 40 {
		room = max(room, 8<<10)
	}
	assert.LessOrEqual(t, last, second+room, "memory grows: %v", c.rss)
}

// crowd are people who come to a station one after the other.
type crowd struct {
	t       *testing.T
	life    *life
	log     *follower
	coached time.Duration  // in all sessions together, in their own time
	ends    map[string]int // outcomes
	outcome string         // of the last session
	rss     []int          // KB, the middle of what was seen in each session
}

// next is one person's coming and going.
func (c *crowd) next() {
	var rss []int
	watched := func(kind string, press ...string) entry {
		return c.log.until(kind, soakPace, func() {
			c.life.press(press...)
			rss = append(rss, resident(c.t, c.life.cmd.Process.Pid))
		})
	}
	var end entry
	switch len(c.rss) % 4 {
	case 1: // walks away in a set, until the station gives up
		watched("rep", "plus", "tap")
		end = watched("session_end")
	case 3: // feels something
		watched("rep", "plus", "tap")
		watched("stop", "stop")
		end = watched("session_end", "tap")
		watched("release", unlock...)
	default:
		end = watched("session_end", "plus", "tap")
	}
	if c.ends == nil {
		c.ends = map[string]int{}
	}
	c.outcome = outcome(c.t, end)
	c.ends[c.outcome]++
	c.coached += time.Duration(end.Sample) * time.Second / 48000
	c.rss = append(c.rss, median(rss))
}

func median(v []int) int {
	v = slices.Clone(v)
	slices.Sort(v)
	return v[len(v)/2]
}

// resident is a process's memory, in KB, without what it merely maps of its
// own file and could let go of.
func resident(t testing.TB, pid int) int { return status(t, pid, "RssAnon:") }

func status(t testing.TB, pid int, key string) int {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	require.NoError(t, err, "it is gone")
	_, rest, found := strings.Cut(string(text), key)
	require.True(t, found)
	kb, err := strconv.Atoi(strings.Fields(rest)[0])
	require.NoError(t, err)
	return kb
}

// cpuTime is what a process has used of the processor, in user and system.
func cpuTime(t testing.TB, pid int) time.Duration {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	require.NoError(t, err)
	_, rest, _ := strings.Cut(string(text), ") ")
	f := strings.Fields(rest)
	var ticks int
	for _, v := range f[11:13] { // utime and stime, proc(5)
		n, err := strconv.Atoi(v)
		require.NoError(t, err)
		ticks += n
	}
	return time.Duration(ticks) * time.Second / 100 // USER_HZ
}

func outcome(t *testing.T, e entry) string {
	_, rest, found := strings.Cut(e.line, `"outcome":"`)
	require.True(t, found, e.line)
	name, _, _ := strings.Cut(rest, `"`)
	return name
}

// How long it takes from the start of the process to READY=1 at the service
// manager, which the audio loop gives once it has played a block.
func BenchmarkBootToReady(b *testing.B) {
	w := newWall(b, 1)
	for b.Loop() {
		l, waitFor := w.startNotifying(b)
		waitFor("READY=1")
		b.StopTimer()
		l.cmd.Process.Kill()
		l.end()
		b.StartTimer()
	}
}

// What a minute in life takes of one core and of memory.
func BenchmarkRealTime(b *testing.B) {
	for b.Loop() {
		w := newWall(b, 1)
		l, waitFor := w.startNotifying(b)
		waitFor("READY=1")
		before := cpuTime(b, l.cmd.Process.Pid)
		for range 30 {
			l.press("plus", "tap")
			time.Sleep(2 * time.Second)
		}
		b.ReportMetric(100*(cpuTime(b, l.cmd.Process.Pid)-before).Seconds()/60, "%core")
		b.ReportMetric(float64(status(b, l.cmd.Process.Pid, "VmRSS:")), "rss-KB")
		b.ReportMetric(float64(resident(b, l.cmd.Process.Pid)), "anon-KB")
		l.cmd.Process.Kill()
		l.end()
	}
}

// startNotifying starts the station under a service manager of the test's own.
func (w *wall) startNotifying(t testing.TB) (*life, func(state string)) {
	name := filepath.Join(t.TempDir(), "notify")
	manager, err := net.ListenUnixgram("unixgram", &net.UnixAddr{Name: name, Net: "unixgram"})
	require.NoError(t, err)
	t.Cleanup(func() { manager.Close() })
	l := w.start(t, "NOTIFY_SOCKET="+name)
	return l, func(state string) {
		buf := make([]byte, 4096)
		manager.SetReadDeadline(time.Now().Add(time.Minute))
		for {
			n, err := manager.Read(buf)
			require.NoError(t, err, "waiting for %s", state)
			if strings.Contains(string(buf[:n]), state) {
				return
			}
		}
	}
}
