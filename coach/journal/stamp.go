package journal

import (
	"time"

	"evenbell/coach"
)

// What a session played offline is stamped with, so that the same plan gives
// the same bytes. They stand for no real start of the program.
const (
	OfflineEpoch   = "00000000000000000000000000000000"
	OfflineBoot    = "00000000-0000-0000-0000-000000000000"
	OfflineSession = "offline"
)

// Stamp numbers and dates the entries of one session that is played outside
// a station: offline, in rehearsal, in a preview or a test. It is pure, and
// not safe for use by two goroutines. On a station the [Journal] does this.
type Stamp struct {
	epoch, boot, session string
	wall                 *time.Time
	mono                 int64
	seq                  int64
}

// NewStamp gives a stamp for one epoch and one session in it. wall is the
// time of the session's first sample, or nil where no clock is trusted; mono
// is the same moment on the boot's clock in nanoseconds.
func NewStamp(epoch, boot, session string, wall *time.Time, mono int64) *Stamp {
	return &Stamp{epoch: epoch, boot: boot, session: session, wall: wall, mono: mono}
}

// Start is the entry that every epoch begins with; call it once, before
// Next. An epoch that follows none has zero data.
func (s *Stamp) Start(previous coach.StartData) coach.Entry {
	e := s.Next(coach.Entry{Kind: coach.EntryStart, Data: &previous})
	e.Session = ""
	return e
}

// Next numbers e from 1 without gaps and dates it by its sample, on the
// nominal rate; a wall time is cut to the millisecond.
func (s *Stamp) Next(e coach.Entry) coach.Entry {
	s.seq++
	after := coach.SessionRate.Duration(e.Sample)
	e.Epoch, e.Seq, e.Boot, e.Session = s.epoch, s.seq, s.boot, s.session
	e.MonoNS = s.mono + int64(after)
	e.Wall = nil
	if s.wall != nil {
		at := s.wall.Add(after).UTC().Truncate(time.Millisecond)
		e.Wall = &at
	}
	return e
}
