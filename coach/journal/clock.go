package journal

import (
	"fmt"
	"os"
	"runtime"
	"strings"
	"sync"
	"time"

	"golang.org/x/sys/unix"
)

// Instant is one moment on both clocks.
type Instant struct {
	Mono    int64     // nanoseconds since the boot, sleep included (CLOCK_BOOTTIME); never steps
	Wall    time.Time // what the system clock says
	Trusted bool      // whether Wall may be believed
}

// Clock tells the time.
type Clock interface {
	Now() Instant
	Mono() int64 // of Now, and no more than that: it must not wait
}

// SystemClock is the machine's own. Its wall time is trusted from 2026 on,
// the year of this program, where the kernel says that the clock is
// synchronised or the machine has a clock that ran on while it was off: a PC
// always has one, another board where the kernel set its time from a
// real-time clock when it booted. A board without one wakes up with the time
// at which it was switched off, which looks right and is not.
type SystemClock struct{}

// Now reads both clocks.
func (SystemClock) Now() Instant {
	wall := time.Now()
	return Instant{Mono: BootTime(), Wall: wall, Trusted: trusted(wall, synchronised(), runsWhileOff())}
}

// Mono is BootTime.
func (SystemClock) Mono() int64 { return BootTime() }

// BootTime is CLOCK_BOOTTIME in nanoseconds.
func BootTime() int64 {
	var t unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_BOOTTIME, &t); err != nil {
		panic("this kernel has no CLOCK_BOOTTIME: " + err.Error()) // Linux has had it since 2.6.39
	}
	return t.Nano()
}

func trusted(wall time.Time, synchronised, runsWhileOff bool) bool {
	return wall.UTC().Year() >= 2026 && (synchronised || runsWhileOff)
}

func synchronised() bool {
	var t unix.Timex
	state, err := unix.Adjtimex(&t)
	return err == nil && state != unix.TIME_ERROR && t.Status&unix.STA_UNSYNC == 0
}

var runsWhileOff = sync.OnceValue(func() bool {
	if runtime.GOARCH == "amd64" || runtime.GOARCH == "386" {
		return true
	}
	set, err := os.ReadFile("/sys/class/rtc/rtc0/hctosys") // said once a boot
	return err == nil && strings.TrimSpace(string(set)) == "1"
})

// BootID is the kernel's name for this boot.
func BootID() (string, error) {
	id, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	if err != nil {
		return "", fmt.Errorf("asking the kernel for the boot's id: %w", err)
	}
	return strings.TrimSpace(string(id)), nil
}
