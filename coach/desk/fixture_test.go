package desk_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

var ctx = context.Background()

// The people at the desk.
var (
	okafor  = desk.Actor{ID: 1, Name: "R. Okafor", Role: store.Supervisor}
	lind    = desk.Actor{ID: 2, Name: "M. Lind", Role: store.Assistant}
	adair   = desk.Actor{ID: 3, Name: "P. Adair", Role: store.Admin}
	console = desk.AtConsole("root")
)

// clinic is a desk over a store of its own, with clock and chance in hand.
type clinic struct {
	*desk.Desk
	t     testing.TB
	store *store.Store
	link  *desk.Link
	mu    sync.Mutex
	now   time.Time

	virtual func() time.Time // in a bubble; takes the place of now
}

// monday is when a test begins: a Monday at ten.
var monday = time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC)

func newClinic(t testing.TB) *clinic {
	s, err := store.Open(ctx, t.TempDir())
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	c := &clinic{t: t, store: s, now: monday}
	c.Desk = desk.New(desk.Config{Store: s, Now: c.time, Random: rand.NewChaCha8([32]byte{1}), Length: lengths, Recorder: recorder{}, Log: slog.New(slog.DiscardHandler), Fingerprint: "the desk's key"})
	c.link = c.Link()
	_, err = c.ChangeClinic(ctx, adair, func(v *desk.Clinic) error {
		v.Name, v.Zone, v.Owned, v.Telephone = "Quayside Heart Health", "UTC", "1, 1.5, 2, 2.5, 3, 4, 5 kg; band 1, 2, 3", "555 0100"
		return nil
	})
	require.NoError(t, err)
	return c
}

// recorder takes any file that begins with "sound" and lasts a tenth of a second
// a letter, and lets words take as long.
type recorder struct{}

func (recorder) Fits(voice, text string) (string, time.Duration, error) {
	if voice != "en" && voice != "es" {
		return "", 0, fmt.Errorf("no voice %s", voice)
	}
	return voice, time.Duration(len(text)) * 100 * time.Millisecond, nil
}

func (recorder) Line(text string, file []byte) ([]byte, time.Duration, error) {
	if !bytes.HasPrefix(file, []byte("sound")) {
		return nil, 0, errors.New("it is no sound")
	}
	length := time.Duration(len(file)) * 100 * time.Millisecond
	if len(file) > len(text) {
		return nil, 0, fmt.Errorf("it takes %s", length)
	}
	return append([]byte("shaped "), file...), length, nil
}

// lengths gives every item three minutes, and half a minute before the first.
func lengths(_ string, who coach.Programme) (lead, total time.Duration, err error) {
	return 30 * time.Second, 30*time.Second + time.Duration(len(who.Items))*3*time.Minute, nil
}

func (c *clinic) time() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.virtual != nil {
		return c.virtual()
	}
	return c.now
}

func (c *clinic) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// patient adds somebody.
func (c *clinic) patient(tag string, r store.Record) store.Patient {
	p, err := c.AddPatient(ctx, okafor, store.Patient{Tag: tag, Name: "Person " + tag, Record: r})
	require.NoError(c.t, err)
	return p
}

// planText is a plan of one patient for a week from a day.
func planText(tag string, day coach.Day, items string) string {
	return fmt.Sprintf(`format = "day-plan/1"
day = %s
until = %s
clinic = "Quayside Heart Health"
unit = "kg"
[[patient]]
tag = %q
warm_up = 300
cool_down = 300
%s`, day, day.AddDays(6), tag, items)
}

const (
	curl = "[[patient.item]]\nexercise = \"biceps-curl\"\nreps = 10\nload = \"2 kg\"\n"
	heel = "[[patient.item]]\nexercise = \"heel-raise\"\nreps = 10\nload = \"body\"\n"
	row  = "[[patient.item]]\nexercise = \"dumbbell-row\"\nreps = 10\nload = \"2 kg\"\n"
)

// approved writes and approves a plan.
func (c *clinic) approved(tag, items string) store.Prescription {
	today, err := c.Today(ctx)
	require.NoError(c.t, err)
	rx, checked, err := c.Draft(ctx, lind, tag, planText(tag, today, items))
	require.NoError(c.t, err)
	require.NotNil(c.t, checked.Plan, "%v", checked.Faults)
	rx, err = c.Approve(ctx, okafor, rx.ID, checked.Fingerprint)
	require.NoError(c.t, err)
	return rx
}

// device is a station at the other end of the link, with a log of its own.
type device struct {
	c     *clinic
	peer  link.Peer
	boot  string
	epoch string
	seq   int64
	hash  journal.Hash
	log   []journal.Record

	clockless bool // it knows no wall time
}

// enrolled lets a device in by a code.
func (c *clinic) enrolled(name string) *device {
	code, _, _, err := c.Code(ctx, adair, name)
	require.NoError(c.t, err)
	sum := sha256.Sum256([]byte(name))
	key := hex.EncodeToString(sum[:])
	got, err := c.link.Enrol(ctx, key, "192.0.2.7", func(given string) bool { return given == code })
	require.NoError(c.t, err)
	require.Equal(c.t, name, got.Name)
	peer, err := c.link.Station(ctx, key)
	require.NoError(c.t, err)
	d := &device{c: c, peer: peer, boot: "boot of " + name}
	d.start()
	return d
}

// start begins a new epoch.
func (d *device) start() {
	before := coach.StartData{PreviousEpoch: d.epoch, PreviousSeq: d.seq}
	if d.epoch != "" {
		before.PreviousHash = d.hash.String()
	}
	sum := sha256.Sum256([]byte(d.peer.Name + before.PreviousEpoch))
	d.epoch, d.seq, d.hash = hex.EncodeToString(sum[:16]), 0, journal.Hash{}
	d.add(coach.Entry{Kind: coach.EntryStart, Data: &before})
}

// add logs entries, dated now by the desk's clock.
func (d *device) add(entries ...coach.Entry) {
	for _, e := range entries {
		d.seq++
		e.Epoch, e.Seq, e.Boot = d.epoch, d.seq, d.boot
		if e.Wall == nil {
			now := d.c.time()
			e.Wall = &now
		}
		if e.MonoNS = d.mono(*e.Wall); d.clockless {
			e.Wall = nil
		}
		line, err := journal.Line(e)
		require.NoError(d.c.t, err)
		d.hash = d.hash.Next(line)
		d.log = append(d.log, journal.Record{Position: journal.Position{Epoch: d.epoch, Seq: d.seq}, Line: line, Hash: d.hash})
	}
}

// mono is a moment on the device's own clock.
func (d *device) mono(at time.Time) int64 { return int64(at.Sub(monday.Add(-time.Hour))) }

// upload sends what the desk lacks.
func (d *device) upload() {
	for len(d.log) > 0 {
		n := 0
		for n < len(d.log) && d.log[n].Epoch == d.log[0].Epoch {
			n++
		}
		first := d.log[0]
		marks, err := d.c.link.Marks(ctx, d.peer, []string{first.Epoch})
		require.NoError(d.c.t, err)
		var before journal.Hash
		if first.Seq > 1 {
			before = d.before(first)
		}
		require.Equal(d.c.t, first.Seq-1, marks[0].Seq)
		got, err := d.c.link.Append(ctx, d.peer, link.Batch{Epoch: first.Epoch, After: first.Seq - 1, Before: before, Records: d.log[:n]})
		require.NoError(d.c.t, err)
		require.Equal(d.c.t, link.Mark{Epoch: first.Epoch, Seq: d.log[n-1].Seq}, got)
		d.log = d.log[n:]
	}
}

func (d *device) before(r journal.Record) journal.Hash {
	e, err := d.c.store.Mark(ctx, d.peer.ID, r.Epoch)
	require.NoError(d.c.t, err)
	return e.Hash
}

// urgent raises the newest entry on the fast stream.
func (d *device) urgent() error {
	r := d.log[len(d.log)-1]
	e, err := journal.ParseLine(r.Line)
	require.NoError(d.c.t, err)
	return d.c.link.Raise(ctx, d.peer, link.Urgent{Line: r.Line, Entry: e, Boot: d.boot, MonoNS: d.mono(d.c.time())})
}

// says sends a status.
func (d *device) says(s link.Status) {
	s.Boot, s.MonoNS = d.boot, d.mono(d.c.time())
	require.NoError(d.c.t, d.c.link.Status(ctx, d.peer, s))
}

func (d *device) state() link.State {
	s, err := d.c.link.State(ctx, d.peer)
	require.NoError(d.c.t, err)
	return s
}

// session logs a session of one set an item, every set led to its end.
func (d *device) session(id, tag string, items ...coach.Entry) {
	begin := d.c.time()
	at := func(s int) (*time.Time, coach.Samples) {
		w := begin.Add(time.Duration(s) * time.Second)
		return &w, coach.SessionRate.At(time.Duration(s) * time.Second)
	}
	s := 0
	log := func(e coach.Entry) {
		e.Session, e.Tag = id, tag
		e.Wall, e.Sample = at(s)
		d.add(e)
		s += 10
	}
	log(coach.Entry{Kind: coach.EntrySessionStart, Data: &coach.SessionStartData{Speed: "1", Part: coach.Whole}})
	for i, it := range items {
		it.Item = i + 1
		start := it
		start.Kind = coach.EntryItemStart
		log(start)
		set := coach.Entry{Item: i + 1, Exercise: it.Exercise, Set: 1, Side: coach.Both}
		reps := it.Data.(*coach.ItemStartData).Reps
		set.Kind = coach.EntrySetStart
		log(set)
		for n := range reps {
			rep := set
			rep.Kind, rep.Rep, rep.Data = coach.EntryRep, n+1, &coach.RepData{}
			log(rep)
		}
		end := set
		end.Kind, end.Data = coach.EntrySetEnd, &coach.SetEndData{Led: reps, Ended: coach.EndedComplete}
		log(end)
		effort := set
		effort.Kind, effort.Data = coach.EntryEffort, &coach.EffortData{Reserve: coach.ReserveMany}
		log(effort)
	}
	log(coach.Entry{Kind: coach.EntrySessionEnd, Data: &coach.SessionEndData{Outcome: coach.Completed}})
}

// curls is an item of a session.
func curls(load coach.Load, reps int) coach.Entry {
	return coach.Entry{Exercise: "biceps-curl", Data: &coach.ItemStartData{Load: load, Reps: reps, Sets: 1, Stage: "seated", Sides: coach.Alternating}}
}

func kilograms(milli int64) coach.Load { return coach.Dumbbell(milli, coach.Kilogram) }
