package main

import (
	"context"
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

var soak = flag.Duration("soak", 3*time.Hour, "how long the station works in its own time")

// soakSpeed is far below what a core can do, so that the program waits at the
// silent clock as it would at a sound card.
const soakSpeed = 300

// A station coaches one session after the other: willing people, people who
// walk away, and stops with their release. Its memory stays flat: the median
// of the last quarter is within a tenth of that of the second (the first
// fills what is kept).
func TestSoak(t *testing.T) {
	w := newWall(t, soakSpeed)
	l := w.start(t)
	<-l.awake
	ctx, cancel := context.WithTimeout(t.Context(), *soak/soakSpeed)
	defer cancel()
	pressed := make(chan struct{})
	go func() { defer close(pressed); comeAndGo(ctx, l) }()
	rss := watchMemory(t, ctx, l.cmd.Process.Pid)
	<-pressed
	cpu := cpuTime(t, l.cmd.Process.Pid)
	require.NoError(t, l.cmd.Process.Signal(unix.SIGTERM))
	l.end()
	assert.True(t, l.cmd.ProcessState.Success(), "it ended with %s", l.cmd.ProcessState)
	ends := map[string]int{}
	for _, e := range w.log(t) {
		if e.Kind == "session_end" {
			ends[outcome(t, e)]++
		}
	}
	second, last := median(rss[len(rss)/4:len(rss)/2]), median(rss[3*len(rss)/4:])
	t.Logf("%s at %d times: sessions %v, processor %s (%.2f %% of a core in real time), memory %d KB in the second quarter, %d KB in the last, %d KB at most",
		*soak, soakSpeed, ends, cpu, 100*cpu.Seconds()/soak.Seconds(), second, last, slices.Max(rss))
	assert.GreaterOrEqual(t, float64(ends["completed"]), soak.Hours(), "it did not go on coaching")
	assert.Positive(t, ends["abandoned"])
	assert.Positive(t, ends["stopped"])
	assert.LessOrEqual(t, last, second+second/10, "memory grows: %v", rss)
}

// comeAndGo presses for people who come one after the other until ctx is done.
func comeAndGo(ctx context.Context, l *life) {
	const minute = time.Minute / soakSpeed
	for n := 0; ctx.Err() == nil; n++ {
		for end := time.Now().Add(25 * minute); time.Now().Before(end) && ctx.Err() == nil; time.Sleep(minute / 30) {
			l.press("plus", "tap")
		}
		switch n % 4 {
		case 1: // walks away, until the station gives up
			time.Sleep(12 * minute)
		case 3:
			l.press("stop")
			for range 10 { // it may still be asking which symptom
				time.Sleep(minute)
				l.press(unlock...)
			}
		}
	}
}

// watchMemory reads a process's resident memory, in KB, until ctx is done,
// and shows sixteen of the readings.
func watchMemory(t *testing.T, ctx context.Context, pid int) []int {
	var rss []int
	begun := time.Now()
	every := max(*soak/soakSpeed/320, 20*time.Millisecond)
	for ctx.Err() == nil {
		rss = append(rss, resident(t, pid))
		if len(rss)%20 == 0 {
			t.Logf("%s: %d KB", (time.Since(begun) * soakSpeed).Round(time.Minute), rss[len(rss)-1])
		}
		time.Sleep(every)
	}
	return rss
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
