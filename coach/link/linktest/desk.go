// Package linktest has what tests of the link need at its other end: a desk in
// memory, served over real TLS, killed and brought back at will; a proxy that
// does to a connection whatever a network can; and the contract that every
// link.Desk keeps.
//
// It may know the link and the log. Nothing that ships imports it.
package linktest

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// Desk is a link.Desk in memory. Its zero value is not usable; see NewDesk.
type Desk struct {
	mu       sync.Mutex // guards everything below
	now      func() time.Time
	codes    []*code
	stations map[string]*station // by key
	watchers map[int64][]chan struct{}
	fail     func() error // asked before anything is done; for a desk in trouble
	noLog    bool         // takes no batches
	kept     kept

	recordings map[int64]map[string]link.Recording
	asked      []string // recordings, by hash
}

type code struct {
	text, name string
	expires    time.Time
	tries      int
	used       bool
}

type station struct {
	link.Peer
	revoked bool
}

// kept is what a backup holds.
type kept struct {
	epochs map[owned]*epoch
	urgent map[link.Position]Raised
	order  []link.Position // of urgent, as they came
	breaks []string
	status map[int64]link.Status
	states map[int64]link.State
	plans  map[int64]map[int64]link.Plan
}

// owned is an epoch of one station's log.
type owned struct {
	station int64
	name    string
}

// Raised is an urgent entry the desk has.
type Raised struct {
	link.Urgent
	Times int // how often it came, with the log included
}

type epoch struct {
	records []journal.Record // what was stored; holes where entries are gone
	mark    int64
	hash    journal.Hash
}

// NewDesk makes a desk that knows nobody.
func NewDesk() *Desk {
	return &Desk{now: time.Now, stations: map[string]*station{}, watchers: map[int64][]chan struct{}{}, kept: newKept(),
		recordings: map[int64]map[string]link.Recording{}}
}

func newKept() kept {
	return kept{epochs: map[owned]*epoch{}, urgent: map[link.Position]Raised{}, status: map[int64]link.Status{},
		states: map[int64]link.State{}, plans: map[int64]map[int64]link.Plan{}}
}

// Code makes a one-time code for a station of that name.
func (d *Desk) Code(name string) string {
	text, err := link.NewCode(rand.Reader)
	if err != nil {
		panic(err)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	d.codes = append(d.codes, &code{text: text, name: name, expires: d.now().Add(10 * time.Minute)})
	return text
}

// Pass lets time go by for codes.
func (d *Desk) Pass(by time.Duration) {
	d.mu.Lock()
	defer d.mu.Unlock()
	was := d.now
	d.now = func() time.Time { return was().Add(by) }
}

// Revoke shuts a station out.
func (d *Desk) Revoke(name string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, s := range d.stations {
		if s.Name == name {
			s.revoked = true
			d.wake(s.ID)
		}
	}
}

// Trouble makes every answer fail with what trouble gives; nil ends it.
func (d *Desk) Trouble(trouble func() error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.fail = trouble
}

// NoLog makes the desk take no batches for now, so that what is urgent is all
// it hears.
func (d *Desk) NoLog(on bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.noLog = on
}

// Tell changes what the station with that number is to know.
func (d *Desk) Tell(id int64, change func(*link.State)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	s := d.kept.states[id]
	change(&s)
	d.kept.states[id] = s
	d.wake(id)
}

// Send hands a plan to a station.
func (d *Desk) Send(id int64, p link.Plan) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.kept.plans[id] == nil {
		d.kept.plans[id] = map[int64]link.Plan{}
	}
	d.kept.plans[id][p.Version] = p
	s := d.kept.states[id]
	s.Plan, s.PlanHash = p.Version, p.Hash()
	d.kept.states[id] = s
	d.wake(id)
}

func (d *Desk) wake(id int64) {
	for _, ch := range d.watchers[id] {
		select {
		case ch <- struct{}{}:
		default:
		}
	}
}

// Lines gives every stored line of every epoch, in order.
func (d *Desk) Lines() map[string][]journal.Record {
	d.mu.Lock()
	defer d.mu.Unlock()
	out := map[string][]journal.Record{}
	for of, e := range d.kept.epochs {
		out[of.name] = slices.Clone(e.records)
	}
	return out
}

// Count is how many entries the desk has.
func (d *Desk) Count() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	n := 0
	for _, e := range d.kept.epochs {
		n += len(e.records)
	}
	return n
}

// Urgent gives the urgent entries in the order in which they first came.
func (d *Desk) Urgent() []Raised {
	d.mu.Lock()
	defer d.mu.Unlock()
	var out []Raised
	for _, p := range d.kept.order {
		out = append(out, d.kept.urgent[p])
	}
	return out
}

// Breaks says what was wrong with logs.
func (d *Desk) Breaks() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Clone(d.kept.breaks)
}

// Listening is how many streams a station has to this desk.
func (d *Desk) Listening(id int64) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return len(d.watchers[id])
}

// Latest is the newest status of a station, false where none came yet.
func (d *Desk) Latest(id int64) (link.Status, bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	s, ok := d.kept.status[id]
	return s, ok
}

// Backup gives a way to put the desk back to what it is now. Stations stay
// enrolled.
func (d *Desk) Backup() (restore func()) {
	d.mu.Lock()
	defer d.mu.Unlock()
	saved := d.kept.clone()
	return func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		d.kept = saved.clone()
	}
}

func (k kept) clone() kept {
	c := kept{epochs: map[owned]*epoch{}, urgent: maps.Clone(k.urgent), order: slices.Clone(k.order), breaks: slices.Clone(k.breaks),
		status: maps.Clone(k.status), states: maps.Clone(k.states), plans: maps.Clone(k.plans)}
	for of, e := range k.epochs {
		c.epochs[of] = &epoch{slices.Clone(e.records), e.mark, e.hash}
	}
	return c
}

func (d *Desk) trouble() error {
	if d.fail != nil {
		return d.fail()
	}
	return nil
}

// Enrol implements link.Desk.
func (d *Desk) Enrol(_ context.Context, key, _ string, proves func(string) bool) (link.Enrolment, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	var open []*code
	for _, c := range d.codes {
		if !c.used && c.tries < 5 && d.now().Before(c.expires) {
			open = append(open, c)
		}
	}
	for _, c := range open {
		if proves(c.text) {
			c.used = true
			secret := bytes.Repeat([]byte{byte(len(d.stations) + 1)}, 32)
			for k, s := range d.stations {
				if s.Name == c.name {
					delete(d.stations, k)
				}
			}
			d.stations[key] = &station{Peer: link.Peer{ID: int64(len(d.stations) + 1), Name: c.name, Key: key}}
			return link.Enrolment{Code: c.text, Name: c.name, Secret: secret}, nil
		}
	}
	for _, c := range open {
		c.tries++
	}
	return link.Enrolment{}, link.ErrCode
}

// Station implements link.Desk.
func (d *Desk) Station(_ context.Context, key string) (link.Peer, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	s, ok := d.stations[key]
	switch {
	case !ok:
		return link.Peer{}, link.ErrUnknown
	case s.revoked:
		return link.Peer{}, link.ErrRevoked
	}
	return s.Peer, nil
}

// Marks implements link.Desk.
func (d *Desk) Marks(_ context.Context, from link.Peer, epochs []string) ([]link.Mark, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.trouble(); err != nil {
		return nil, err
	}
	out := []link.Mark{}
	for _, name := range epochs {
		m := link.Mark{Epoch: name}
		if e := d.kept.epochs[owned{from.ID, name}]; e != nil {
			m.Seq = e.mark
		}
		out = append(out, m)
	}
	return out, nil
}

// Append implements link.Desk.
func (d *Desk) Append(_ context.Context, from link.Peer, b link.Batch) (link.Mark, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.trouble(); err != nil {
		return link.Mark{}, err
	}
	if d.noLog {
		return link.Mark{}, errors.New("no batches for now")
	}
	of := owned{from.ID, b.Epoch}
	e := d.kept.epochs[of]
	if e == nil {
		e = &epoch{}
		d.kept.epochs[of] = e
	}
	switch {
	case b.After > e.mark && !b.Gone:
		return link.Mark{Epoch: b.Epoch, Seq: e.mark}, nil
	case b.After > e.mark:
		d.kept.breaks = append(d.kept.breaks, fmt.Sprintf("%s: %d to %d are gone", b.Epoch, e.mark+1, b.After))
		e.mark, e.hash = b.After, b.Before
	}
	if b.End() <= e.mark {
		return link.Mark{Epoch: b.Epoch, Seq: e.mark}, nil
	}
	at := b.Before
	if e.mark > b.After {
		at = b.Records[e.mark-b.After-1].Hash
	}
	if at != e.hash {
		d.kept.breaks = append(d.kept.breaks, fmt.Sprintf("%s: the chain does not hold at %d", b.Epoch, e.mark))
		return link.Mark{}, link.ErrChain
	}
	for _, r := range b.Records[e.mark-b.After:] {
		e.records = append(e.records, r)
		if entry, err := r.Entry(); err == nil && link.IsUrgent(entry) {
			d.raise(link.Urgent{Line: r.Line, Entry: entry})
		}
	}
	e.mark, e.hash = b.End(), b.Hash()
	return link.Mark{Epoch: b.Epoch, Seq: e.mark}, nil
}

// Raise implements link.Desk.
func (d *Desk) Raise(_ context.Context, _ link.Peer, u link.Urgent) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.trouble(); err != nil {
		return err
	}
	d.raise(u)
	return nil
}

// raise notes an urgent entry once, however it comes.
func (d *Desk) raise(u link.Urgent) {
	p := link.Position{Epoch: u.Entry.Epoch, Seq: u.Entry.Seq}
	r, had := d.kept.urgent[p]
	if !had {
		r.Urgent = u
		d.kept.order = append(d.kept.order, p)
	}
	r.Times++
	d.kept.urgent[p] = r
}

// Status implements link.Desk.
func (d *Desk) Status(_ context.Context, from link.Peer, s link.Status) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.trouble(); err != nil {
		return err
	}
	if had := d.kept.status[from.ID]; had.Boot == s.Boot && had.MonoNS > s.MonoNS {
		return nil
	}
	d.kept.status[from.ID] = s
	return nil
}

// State implements link.Desk.
func (d *Desk) State(_ context.Context, to link.Peer) (link.State, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if s, ok := d.stations[to.Key]; !ok || s.revoked {
		return link.State{}, link.ErrRevoked
	}
	s := d.kept.states[to.ID]
	s.Name = to.Name
	return s, d.trouble()
}

// Watch implements link.Desk.
func (d *Desk) Watch(to link.Peer) (<-chan struct{}, func()) {
	d.mu.Lock()
	defer d.mu.Unlock()
	ch := make(chan struct{}, 1)
	d.watchers[to.ID] = append(d.watchers[to.ID], ch)
	return ch, func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		d.watchers[to.ID] = slices.DeleteFunc(d.watchers[to.ID], func(c chan struct{}) bool { return c == ch })
	}
}

// Plan implements link.Desk.
func (d *Desk) Plan(_ context.Context, to link.Peer, version int64) (link.Plan, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	p, ok := d.kept.plans[to.ID][version]
	if !ok {
		return link.Plan{}, link.ErrNoPlan
	}
	return p, nil
}

// Records makes a station's State name recordings, and gives them where they
// are asked for; one of another hash than it goes by is given as it is.
func (d *Desk) Records(id int64, all map[string]link.Recording) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.recordings[id] = all
	s := d.kept.states[id]
	s.Recordings = slices.Sorted(maps.Keys(all))
	d.kept.states[id] = s
	d.wake(id)
}

// Recording implements link.Desk.
func (d *Desk) Recording(_ context.Context, to link.Peer, hash string) (link.Recording, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.asked = append(d.asked, hash)
	r, ok := d.recordings[to.ID][hash]
	if !ok {
		return link.Recording{}, link.ErrNoRecording
	}
	return r, d.trouble()
}

// Asked is how often a recording was asked for.
func (d *Desk) Asked(hash string) (n int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, h := range d.asked {
		if h == hash {
			n++
		}
	}
	return n
}

// Of counts the entries of a kind that the desk has.
func (d *Desk) Of(kind coach.EntryKind) int {
	n := 0
	for _, recs := range d.Lines() {
		for _, r := range recs {
			if e, err := r.Entry(); err == nil && e.Kind == kind {
				n++
			}
		}
	}
	return n
}

var _ link.Desk = (*Desk)(nil)
