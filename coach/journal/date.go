package journal

import (
	"fmt"
	"time"

	"evenbell/coach"
)

// date puts both times on an entry. Its wall time is worked out from the boot
// clock, so an entry that waited in a queue gets the time of its event, and
// one from before the clock was set gets the right one.
func date(e *coach.Entry, now Instant) {
	if e.MonoNS == 0 {
		e.MonoNS = now.Mono
	}
	e.Wall = nil
	if now.Trusted {
		wall := now.Wall.Round(0).Add(time.Duration(e.MonoNS - now.Mono)).UTC().Truncate(time.Millisecond)
		e.Wall = &wall
	}
}

// stepWatch notices when the wall clock is moved while the program runs.
type stepWatch struct {
	seen   bool
	offset time.Duration // of the wall clock from the boot clock
}

const smallestStep = 2 * time.Second // a clock being slewed stays far below between two entries

// see reports by how much a trusted clock was moved since the last look.
func (w *stepWatch) see(now Instant) (time.Duration, bool) {
	if !now.Trusted {
		return 0, false
	}
	offset := time.Duration(now.Wall.UnixNano() - now.Mono)
	moved, before := offset-w.offset, w.seen
	w.seen, w.offset = true, offset
	return moved, before && moved.Abs() > smallestStep
}

func clockMoved(by time.Duration) coach.Entry {
	return coach.Entry{Kind: coach.EntryFault, Data: &coach.FaultData{Part: "clock",
		Detail: fmt.Sprintf("the clock was moved by %s s", coach.Seconds(by))}}
}
