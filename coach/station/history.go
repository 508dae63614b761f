package station

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// history is what the log says of the station's own state: whether it is
// locked, which session was broken off, and who is done today. It is a fold
// over entries in their order, so that it is the same after a power cut.
type history struct {
	locked bool
	broken *brokenSession           // begun and not ended
	met    map[string]bool          // tags that were coached here
	done   map[string]coach.Outcome // by tag and day: how the last session of that day ended
	worked map[string]moment        // by tag: when the last repetition was led
	ended  map[string]ending        // by tag: what last ended a day at home
	zone   *time.Location
	holds  holds
	calls  []journal.Position        // stops and unanswered places, since the box was last released
	stop   journal.Position          // the newest of the stops among them; zero for none
	told   map[journal.Position]bool // to which of them somebody was said to be coming
	// counter is of the newest telephone code used, and wrong are the codes
	// pressed here that cleared nobody.
	counter int64
	wrong   []coach.Entry
}

// brokenSession is a session without an end.
type brokenSession struct {
	id    string
	tag   string
	item  int // from 0; −1 before the first
	sets  int // of that item
	sides coach.Sides
	next  bool // the item had been done to its end
	off   bool // the program was told to end
	noted bool // a later start has logged that it was cut off
	last  coach.Entry
}

func newHistory(zone *time.Location) *history {
	return &history{met: make(map[string]bool), done: make(map[string]coach.Outcome), zone: zone,
		worked: make(map[string]moment), ended: make(map[string]ending), told: make(map[journal.Position]bool)}
}

// add takes in the next entry of the log.
func (h *history) add(e coach.Entry) {
	switch d := e.Data.(type) {
	case *coach.SessionStartData:
		h.met[e.Tag] = true
		h.broken = &brokenSession{id: e.Session, tag: e.Tag, item: -1}
	case *coach.ItemStartData:
		if b := h.of(e); b != nil {
			b.item, b.sets, b.sides, b.next = e.Item-1, d.Sets, d.Sides, false
		}
	case *coach.SetEndData:
		if b := h.of(e); b != nil && d.Ended == coach.EndedComplete {
			passes := b.sides.Passes()
			b.next = e.Set == b.sets && (len(passes) == 1 || e.Side == passes[len(passes)-1])
		}
	case *coach.SessionEndData:
		if b := h.of(e); b != nil {
			h.done[doneKey(e.Tag, h.day(e))] = d.Outcome
			h.broken = nil
		}
	case *coach.QuestionData:
		if d.ID == coach.QuestionGoOn && d.Answer == coach.AnswerNotWell {
			h.broken = nil
		}
	case *coach.ClearData:
		h.counter = max(h.counter, d.Counter)
	case *coach.HelpData:
		h.told[journal.Position{Epoch: d.Epoch, Seq: d.Seq}] = true
	}
	switch e.Kind {
	case coach.EntryStop:
		h.locked, h.broken = true, nil // a stopped session is never gone on with
	case coach.EntryRelease:
		h.locked = false
	case coach.EntryWrongCode:
		h.wrong = append(h.wrong, e)
	}
	h.holds.add(e)
	h.ends(e)
	if b := h.of(e); b != nil {
		if d, ok := e.Data.(*coach.FaultData); ok && d.Earlier() {
			b.noted = true // and the session ended when it did
			return
		}
		b.last, b.off = e, e.Kind == coach.EntryShutdown
	}
}

// place takes in where in the log an entry has come to stand, in the order of
// the log.
func (h *history) place(e coach.Entry) {
	at := journal.Position{Epoch: e.Epoch, Seq: e.Seq}
	switch e.Kind {
	case coach.EntryStop:
		h.calls, h.stop = append(h.calls, at), at
	case coach.EntryNoAnswer:
		h.calls = append(h.calls, at)
	case coach.EntryRelease:
		h.calls, h.stop = nil, journal.Position{}
	}
	h.holds.place(e)
}

// of is the session without an end, where the entry belongs to it.
func (h *history) of(e coach.Entry) *brokenSession {
	if h.broken != nil && e.Session != "" && e.Session == h.broken.id {
		return h.broken
	}
	return nil
}

// day is the clinic's day an entry was made on; none while no clock was
// trusted.
func (h *history) day(e coach.Entry) coach.Day {
	if e.Wall == nil {
		return ""
	}
	return coach.DayOf(e.Wall.In(h.zone))
}

func doneKey(tag string, day coach.Day) string { return tag + " " + string(day) }

// doneOn reports whether a tag's session of a day came to its end.
func (h *history) doneOn(tag string, day coach.Day) bool {
	o := h.done[doneKey(tag, day)]
	return o == coach.Completed || o == coach.FinishedEarly
}

// goesOnAt is the item the broken session can go on with, from 0.
func (b *brokenSession) goesOnAt() int {
	if b.next {
		return b.item + 1
	}
	return max(0, b.item)
}

// ago is how long ago the session broke off, by the boot's own clock or by
// trusted wall time; false where neither tells.
func (b *brokenSession) ago(boot string, mono int64, wall time.Time, trusted bool) (time.Duration, bool) {
	switch {
	case b.last.Boot != "" && b.last.Boot == boot:
		return time.Duration(mono - b.last.MonoNS), true
	case trusted && b.last.Wall != nil:
		return wall.Sub(*b.last.Wall), true
	}
	return 0, false
}

// needs reports whether the state rests on an entry: it must stay in the log.
func (h *history) needs(e coach.Entry) bool {
	switch {
	case h.locked && e.Kind == coach.EntryStop:
		return true
	case !h.holds.on(e.Tag):
		return false
	}
	_, cause := link.HoldReason(e)
	return cause || e.Kind == coach.EntryHold
}
