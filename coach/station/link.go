package station

import (
	"context"
	"path/filepath"
	"slices"
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/player"
	"evenbell/coach/session"
)

// desk is a device's end of the link: what it was told, and what it tells. Its
// goroutines end with Run's context; nothing here is waited for by sound.
type desk struct {
	d      *Device
	client *link.Client
	plans  *link.KeptPlan
	lines  *link.KeptRecordings
	look   chan struct{} // holds one: there may be something to do
	placed journal.Position
	lost   int64 // boot clock when the desk was lost, or the program began

	// Guarded by the device's mu.
	carried *link.State // what a stick brought, until the desk itself speaks
	now     link.Status
	rests   coach.Samples // where the rest going on ends; 0 while there is none
	live    playing
}

// playing is what plays now, for orders from afar.
type playing struct {
	orders chan player.Order
	goes   chan player.Going
	tag    string // of the session; empty in a lobby
	began  time.Time
	known  bool      // whether began is
	next   link.Next // what was last told
}

// openDesk makes the link where the config names a desk; nil where it does not.
func (d *Device) openDesk() *desk {
	if d.Config.DeskURL == "" {
		return nil
	}
	plans, err := link.OpenKeptPlan(d.Config.Data)
	if err != nil {
		d.Log.Error("the desk's plan can't be read; the desk sends it again", "error", err)
	}
	if _, err := link.ReadIdentity(d.Config.Data); err != nil {
		d.Log.Warn("no desk yet", "error", err)
	}
	k := &desk{d: d, plans: plans, lines: link.OpenKeptRecordings(d.Config.Data), look: make(chan struct{}, 1), lost: d.journal.Mono(),
		placed: journal.Position{Epoch: d.journal.Epoch()}}
	k.now = link.Status{Program: d.Program, Boot: bootID(), VolumeDB: d.Config.VolumeDB, Held: []string{},
		Reads: []string{"day-plan/1"}, SelfTest: link.SelfTest{Findings: []string{}}}
	k.client = link.NewClient(link.Config{Data: d.Config.Data, URL: d.Config.DeskURL, Boot: bootID(), Marker: d.journal,
		Open:  func() (link.LogReader, error) { return journal.OpenReader(d.Config.Data) },
		Plans: plans, Recordings: k.lines, Status: k.status, Told: func(link.State) { k.wake() }, Linked: k.linked,
		Log: d.Log.With("part", "link")})
	return k
}

// run keeps the link and does what it asks for, until ctx is done.
func (k *desk) run(ctx context.Context) {
	done := make(chan struct{})
	go func() { defer close(done); k.client.Run(ctx) }()
	stick := time.NewTicker(stickEvery)
	defer stick.Stop()
	for ctx.Err() == nil {
		select {
		case <-ctx.Done():
		case <-k.look:
			k.obey(ctx)
		case <-stick.C:
			if k.takeCarried() {
				k.obey(ctx)
			}
		}
	}
	<-done
}

// wake lets the link's own goroutine look at what there is to do.
func (k *desk) wake() {
	select {
	case k.look <- struct{}{}:
	default:
	}
}

// linked logs that the desk was lost or found.
func (k *desk) linked(up bool) {
	now := k.d.journal.Mono()
	e := coach.Entry{Kind: coach.EntryLink, Data: &coach.LinkData{Desk: "lost"}}
	if up {
		gap := coach.Seconds(now - k.lost)
		e.Data = &coach.LinkData{Desk: "found", GapS: &gap}
	}
	k.lost = now
	k.d.record(e)
	k.wake()
}

// logged takes in what has just become durable, in the recorder's goroutine.
func (k *desk) logged(to journal.Position) {
	for k.placed.Seq < to.Seq {
		recs, err := k.d.journal.After(k.placed, int(to.Seq-k.placed.Seq))
		if err != nil || len(recs) == 0 {
			k.d.Log.Error("reading what was just logged", "error", err)
			break
		}
		k.d.mu.Lock()
		for _, r := range recs {
			if e, err := r.Entry(); err == nil {
				k.d.history.place(e)
			}
			k.placed = r.Position
		}
		k.d.mu.Unlock()
	}
	k.client.Logged()
	k.wake()
}

// said is the last the desk said, or what a stick brought.
func (k *desk) said() (link.State, bool) {
	if s, ok := k.client.State(); ok {
		return s, true
	}
	if k.carried != nil {
		return *k.carried, true
	}
	return link.State{}, false
}

// obey does what the desk says: it may be called again with the same.
func (k *desk) obey(ctx context.Context) {
	k.tryPlan()
	k.d.mu.Lock()
	s, known := k.said()
	if !known {
		k.d.mu.Unlock()
		return
	}
	h := k.d.history
	k.passCodes(s.Codes)
	for _, e := range h.holds.news(s) {
		k.d.Log.Info("a hold", "kind", e.Kind, "tag", e.Tag)
		k.d.recordLocked(e)
	}
	if r := s.Release; r != nil && h.locked && journal.Position(r.Stop) == h.stop && h.stop.Epoch != "" {
		k.order(player.Order{Release: r.By})
	}
	if c := s.Help; c != nil && !h.told[journal.Position(c.For)] && slices.Contains(h.calls, journal.Position(c.For)) {
		k.order(player.Order{Help: &coach.HelpData{By: c.By, Epoch: c.For.Epoch, Seq: c.For.Seq}})
	}
	next, live := k.goesNext(s)
	k.d.mu.Unlock()
	if live.goes != nil {
		k.tellNext(ctx, next, live)
	}
}

// passCodes makes telephone codes that were told worthless, used or not: the
// desk has said already what they were for. The device's lock is held.
func (k *desk) passCodes(told int64) {
	h := k.d.history
	if told <= h.counter {
		return
	}
	h.counter = told
	if err := keepCounter(k.d.Config.Data, told); err != nil {
		k.d.Log.Error("an old telephone code stays good", "error", err)
	}
}

// order hands an order to what plays; one that finds no room is given again.
func (k *desk) order(o player.Order) {
	if k.live.orders == nil {
		return
	}
	select {
	case k.live.orders <- o:
	default:
	}
}

// goesNext is where the patient goes next, where the desk says something new.
func (k *desk) goesNext(s link.State) (link.Next, playing) {
	for _, n := range s.Next {
		if k.live.tag != "" && n.Tag == k.live.tag && n != k.live.next {
			k.live.next = n
			return n, k.live
		}
	}
	return link.Next{}, playing{}
}

// tellNext tells a session where its patient goes next.
func (k *desk) tellNext(ctx context.Context, n link.Next, to playing) {
	next := coach.Next{Place: n.Place, At: n.At}
	if to.known {
		next = next.From(to.began)
	}
	k.d.mu.Lock()
	voice := k.d.voice
	k.d.mu.Unlock()
	var pcm []int16
	if voice != nil && n.Place != "" {
		var err error
		if pcm, err = voice.Speak(ctx, filepath.Join(k.d.Config.Data, typedFolder), n.Place); err != nil {
			k.d.Log.Warn("the next place is not named", "error", err)
		}
	}
	select {
	case to.goes <- player.Going{Next: next, PCM: pcm}:
	default: // an older one is waiting; the session ends soon
	}
}

// play says what plays from now on.
func (k *desk) play(p playing) {
	k.d.mu.Lock()
	k.live = p
	k.d.mu.Unlock()
	k.wake()
}

// nextOf is where a tag goes next, where the desk knows better than the plan.
func (k *desk) nextOf(tag string) (link.Next, bool) {
	s, _ := k.said()
	for _, n := range s.Next {
		if n.Tag == tag {
			return n, true
		}
	}
	return link.Next{}, false
}

// plays makes the ways by which the desk reaches what plays from now on: the
// session of a tag, or a lobby.
func (k *desk) plays(tag string) (<-chan player.Going, <-chan player.Order) {
	p := playing{orders: make(chan player.Order, 4), goes: make(chan player.Going, 4), tag: tag}
	if now, known := k.d.trusted(); known {
		p.began, p.known = now.In(k.d.Config.Zone), true
	}
	k.play(p)
	return p.goes, p.orders
}

// codes puts into a lobby what clears a held tag by telephone. The device's mu
// is held.
func (k *desk) codes(l *session.Lobby) {
	id, err := link.ReadIdentity(k.d.Config.Data)
	if err != nil {
		return // without a desk there is nobody to tell a code
	}
	h := k.d.history
	l.Codes, l.Tries = h.codes(id.Secret), h.triesLeft(bootID(), k.d.Clock.Now())
	l.Offer = !k.client.Up()
}

// held reports whether a tag is not coached here. Without a desk nobody could
// clear it, and the staff at the station decide.
func (d *Device) held(tag string) bool {
	if d.desk == nil {
		return false
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.history.holds.on(tag)
}

// nextPlace is where a tag goes next, where the desk has said something since
// it made the plan.
func (d *Device) nextPlace(tag string) (coach.Next, bool) {
	if d.desk == nil {
		return coach.Next{}, false
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	n, ok := d.desk.nextOf(tag)
	return coach.Next{Place: n.Place, At: n.At}, ok
}
