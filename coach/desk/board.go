package desk

import (
	"encoding/json"
	"sync"
	"time"

	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// board is what the stations say of themselves at this moment. It is memory
// alone: what must last is in the store.
type board struct {
	mu       sync.Mutex
	stations map[int64]*seat
	watchers map[int64]map[chan struct{}]struct{}
	lost     time.Time // since when no station is heard; zero while one is
	turns    int64     // counts the pokes
	pending  bool      // all are to be poked soon
	ended    bool      // no stream goes down any more
}

// seat is one station on the board.
type seat struct {
	name      string
	status    link.Status
	heard     time.Time // last, or when the desk began to listen
	said      bool      // it has said something since the desk began
	silent    bool      // and this was told
	began     time.Time // of its session
	worked    bool      // an item has begun in its session
	waits     time.Time // since when nobody answers; zero while somebody does
	lost      int64     // the attention for its silence; 0 for none
	saved     time.Time // status last written into the store
	busySaved bool      // and whether a session was under way in it
	ties      time.Time // contact last written into the store
	plan      link.PlanStatus
	compared  time.Time // its marks, first
	whole     bool      // its log has come in since
}

func newBoard() *board {
	return &board{stations: map[int64]*seat{}, watchers: map[int64]map[chan struct{}]struct{}{}}
}

// silentAfter is how long a station may be silent before pages show it.
const silentAfter = link.Silence

// alarmAfter is how long a station may be silent while somebody exercises
// there before pages sound.
const alarmAfter = time.Minute

// statusOf is what a station last said, as the store has it.
func statusOf(st store.Station) link.Status {
	var s link.Status
	if st.Status != "" && json.Unmarshal([]byte(st.Status), &s) != nil {
		return link.Status{} // written by another version of this program
	}
	return s
}

// seat gives a station its place. Call it with mu held.
func (b *board) seat(id int64) *seat {
	s := b.stations[id]
	if s == nil {
		s = &seat{}
		b.stations[id] = s
	}
	return s
}

func (b *board) name(id int64) string {
	b.mu.Lock()
	defer b.mu.Unlock()
	if s := b.stations[id]; s != nil {
		return s.name
	}
	return ""
}

// status is what a station last said since this desk began; false for nothing.
func (b *board) status(id int64) (link.Status, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	s := b.stations[id]
	if s == nil || !s.said {
		return link.Status{}, false
	}
	return s.status, true
}

// busy reports whether a session is under way in what a station says.
func busy(s link.Status) bool { return s.Session != nil && s.Session.Outcome == "" }

// exercising are the tags of the sessions under way.
func (b *board) exercising() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var tags []string
	for _, s := range b.stations {
		if busy(s.status) {
			tags = append(tags, s.status.Session.Tag)
		}
	}
	return tags
}

// UnderWay reports whether a station that can be heard says that a session is
// under way there.
func (d *Desk) UnderWay(session string) bool {
	now, b := d.now(), d.board
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, s := range b.stations {
		if busy(s.status) && s.status.Session.ID == session {
			return s.said && now.Sub(s.heard) <= silentAfter
		}
	}
	return false
}

// hear takes what a station says. It reports false for what is older than what
// is known, and whether pages should look again.
func (b *board) hear(from link.Peer, s link.Status, now time.Time) (taken, news bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	at := b.seat(from.ID)
	if at.said && at.status.Boot == s.Boot && s.MonoNS < at.status.MonoNS {
		return false, false
	}
	news = !at.said || at.silent || shown(at.status) != shown(s)
	at.sessionMoves(s, now)
	at.name, at.status, at.heard, at.said, at.silent = from.Name, s, now, true, false
	b.lost = time.Time{}
	return true, news
}

// shown is what of a status pages show, to tell whether to look again. Times
// that run on by themselves are not in it.
func shown(s link.Status) string {
	s.MonoNS, s.Wall, s.Contact = 0, nil, nil
	if s.Session != nil {
		c := *s.Session
		c.RestS = min(c.RestS, 1)
		s.Session = &c
	}
	return string(asJSON(s))
}

// sessionMoves keeps since when a session runs and since when it waits.
func (at *seat) sessionMoves(s link.Status, now time.Time) {
	if s.Session == nil {
		at.began, at.waits, at.worked = time.Time{}, time.Time{}, false
		return
	}
	before := at.status.Session
	if before == nil || before.ID != s.Session.ID {
		at.began, at.waits, at.worked = now, time.Time{}, false
	}
	at.worked = at.worked || s.Session.Item > 0
	switch {
	case s.Session.Waiting == "":
		at.waits = time.Time{}
	case before == nil || before.Waiting != s.Session.Waiting || at.waits.IsZero():
		at.waits = now
	}
}

// spoke notes that a station was heard without saying how it is.
func (b *board) spoke(from link.Peer, now time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if at := b.stations[from.ID]; at != nil && at.said {
		at.heard = now
	}
}

// watch gives a channel with a token whenever what goes down may have changed.
func (b *board) watch(id int64) (<-chan struct{}, func()) {
	c := make(chan struct{}, 1)
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.ended {
		close(c)
		return c, func() {}
	}
	if b.watchers[id] == nil {
		b.watchers[id] = map[chan struct{}]struct{}{}
	}
	b.watchers[id][c] = struct{}{}
	return c, func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		delete(b.watchers[id], c)
	}
}

// poke wakes who watches a station; 0 is all of them.
func (b *board) poke(id int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.turns++
	for station, all := range b.watchers {
		if id != 0 && id != station {
			continue
		}
		for c := range all {
			select {
			case c <- struct{}{}:
			default:
			}
		}
	}
}

// turn tells whether anybody was poked since.
func (b *board) turn() int64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.turns
}

// pokeSoon lets all stations look again within half a second: what they are to
// know is new from now on, and telling three hundred of them must not keep a
// stop from the page that waits for it.
func (b *board) pokeSoon() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.turns++
	b.pending = true
}

// pokeDue pokes all where pokeSoon was called.
func (b *board) pokeDue() {
	b.mu.Lock()
	due := b.pending
	b.pending = false
	b.mu.Unlock()
	if due {
		b.poke(0)
	}
}
