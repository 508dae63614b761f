package link_test

import (
	"context"
	"crypto/tls"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/link/linktest"
)

func TestMain(m *testing.M) {
	goleak.VerifyTestMain(m, goleak.IgnoreTopFunction("database/sql.(*DB).connectionOpener"))
}

// within is how long a test waits for something that should come at once: the
// machine may be busy.
const within = 60 * time.Second

// eventually waits for something to become true.
func eventually(t testing.TB, true_ func() bool, format string, args ...any) {
	t.Helper()
	for end := time.Now().Add(within); !true_(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf(format, args...)
		}
	}
}

// box is a station's end: a log, a client, and what it was told.
type box struct {
	t      testing.TB
	dir    string
	log    *journal.Journal
	client *link.Client
	stop   func()

	mu     sync.Mutex
	told   link.State
	links  []bool
	plan   link.Plan
	status link.Status
}

// enrolled makes a data folder that the desk knows.
func enrolled(t testing.TB, d *linktest.Desk, s *linktest.Server, name string) string {
	t.Helper()
	dir := t.TempDir()
	_, err := link.Enrol(context.Background(), s.URL(), d.Code(name), dir)
	require.NoError(t, err)
	return dir
}

// newBox opens the log in a folder and runs a client to an address.
func newBox(t testing.TB, dir, url string, clock ...journal.Option) *box {
	t.Helper()
	j, err := journal.Open(dir, clock...)
	require.NoError(t, err)
	b := &box{t: t, dir: dir, log: j}
	b.client = link.NewClient(link.Config{Data: dir, URL: url, Boot: "boot", Marker: j,
		Open:  func() (link.LogReader, error) { return journal.OpenReader(dir) },
		Plans: b, Recordings: link.OpenKeptRecordings(dir), Status: b.say, Told: b.take, Linked: b.link, Log: logger(t)})
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); b.client.Run(ctx) }()
	var once sync.Once
	b.stop = func() {
		once.Do(func() { cancel(); <-done; require.NoError(t, j.Close()) })
	}
	t.Cleanup(b.stop)
	return b
}

func logger(testing.TB) *slog.Logger {
	if os.Getenv("LINK_LOG") != "" {
		return slog.New(slog.NewTextHandler(os.Stderr, nil))
	}
	return slog.New(slog.DiscardHandler)
}

func (b *box) say() link.Status {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.status
}

func (b *box) take(s link.State) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.told = s
}

func (b *box) link(up bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.links = append(b.links, up)
}

func (b *box) Has() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.plan.Version == 0 {
		return ""
	}
	return b.plan.Hash()
}

func (b *box) Spoke(time.Time) error { return nil }

func (b *box) Keep(p link.Plan, _ time.Time) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.plan = p
	return nil
}

func (b *box) add(entries ...coach.Entry) {
	b.t.Helper()
	_, err := b.log.Append(entries...)
	require.NoError(b.t, err)
	b.client.Logged()
}

// reps are n entries of no urgency.
func reps(n int) []coach.Entry {
	var out []coach.Entry
	for i := range n {
		out = append(out, coach.Entry{Kind: coach.EntryRep, Tag: "K4", Session: "s", Rep: i + 1, Data: &coach.RepData{}})
	}
	return out
}

func stop() coach.Entry { return coach.Entry{Kind: coach.EntryStop, Tag: "K4", Session: "s"} }

// unsent is how many entries the station thinks the desk lacks.
func (b *box) unsent() int64 {
	n, err := b.log.CountUnsent()
	require.NoError(b.t, err)
	return n
}

// arrived waits until the desk has everything, and holds its copy against the
// station's log: each entry once, in order, the same bytes.
func (b *box) arrived(d *linktest.Desk) {
	b.t.Helper()
	eventually(b.t, func() bool { return b.unsent() == 0 }, "the log was not sent: %d left", b.unsent())
	same(b.t, b.dir, d)
}

func same(t testing.TB, dir string, d *linktest.Desk) {
	t.Helper()
	r, err := journal.OpenReader(dir)
	require.NoError(t, err)
	defer r.Close()
	have, at, n := d.Lines(), map[string]int{}, 0
	for p := (journal.Position{}); ; {
		recs, err := r.After(p, 1000)
		require.NoError(t, err)
		for _, rec := range recs {
			there := have[rec.Epoch]
			require.Less(t, at[rec.Epoch], len(there), "the desk lacks %s %d", rec.Epoch, rec.Seq)
			require.Equal(t, string(rec.Line), string(there[at[rec.Epoch]].Line))
			require.Equal(t, rec.Seq, there[at[rec.Epoch]].Seq)
			at[rec.Epoch]++
			p = rec.Position
			n++
		}
		if len(recs) < 1000 {
			break
		}
	}
	require.Equal(t, n, d.Count(), "the desk has entries that the station has not")
}

func TestTheLogGoesUpAsItIsWritten(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	b := newBox(t, enrolled(t, d, s, "Bay 3"), s.URL())
	for range 20 {
		b.add(reps(70)...)
	}
	b.arrived(d)
	require.Empty(t, d.Breaks())
}

func TestPlansHoldsAndReleasesComeDownAtOnce(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	b := newBox(t, enrolled(t, d, s, "Bay 3"), s.URL())
	d.Send(1, link.Plan{Version: 3, Text: "the plan"})
	eventually(t, func() bool { return b.Has() != "" }, "no plan came")
	require.Equal(t, "the plan", b.plan.Text)
	d.Tell(1, func(s *link.State) {
		s.Holds = []link.Hold{{ID: 5, Tag: "K4", Reason: link.HeldStop, Own: &link.Position{Epoch: "e", Seq: 3}}}
		s.Help = &link.Help{By: "R. Okafor"}
	})
	eventually(t, func() bool { s, _ := b.client.State(); return len(s.Holds) == 1 && s.Help != nil }, "no hold came")
	told, _ := b.client.State()
	require.Equal(t, "Bay 3", told.Name)
	d.Tell(1, func(s *link.State) { s.Plan, s.PlanHash, s.KeepPlan, s.Holds = 0, "", true, nil })
	eventually(t, func() bool { s, _ := b.client.State(); return s.KeepPlan }, "the desk is not heard")
	require.Never(t, func() bool { return b.Has() == "" }, 50*time.Millisecond, 5*time.Millisecond, "it is to keep what it has")
	d.Tell(1, func(s *link.State) { s.KeepPlan = false })
	eventually(t, func() bool { return b.Has() == "" }, "a plan that was taken back is kept")
}

func TestStatusTiesTheClocks(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	b := newBox(t, enrolled(t, d, s, "Bay 3"), s.URL())
	b.mu.Lock()
	b.status.Session = &link.SessionStatus{Tag: "K4", Exercise: "heel-raise", Rep: 3}
	b.mu.Unlock()
	b.client.Changed()
	eventually(t, func() bool { l, ok := d.Latest(1); return ok && l.Contact != nil && l.Session != nil }, "no status came")
	l, _ := d.Latest(1)
	require.Equal(t, "boot", l.Contact.Boot)
	off := time.Since(l.Contact.At) - time.Duration(journal.BootTime()-l.Contact.MonoNS)
	require.Less(t, off.Abs(), time.Duration(l.Contact.WithinNS)+50*time.Millisecond, "the contact holds within its bounds")
}

func TestAStopGoesAheadOfABacklog(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	s.Kill()
	b := newBox(t, dir, s.URL())
	for range 100 {
		b.add(reps(100)...)
	}
	b.add(stop())
	s.Start(t)
	eventually(t, func() bool { return len(d.Urgent()) == 1 }, "the stop did not come")
	t.Logf("the stop came with %d of 10,002 entries there", d.Count())
	require.Less(t, d.Count(), 10002, "it came after the backlog")
	b.arrived(d)
	require.Equal(t, 1, d.Of(coach.EntryStop))
}

func TestStopsAreSentNewestFirstAndAgainAfterARestart(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	s.Kill()
	b := newBox(t, dir, s.URL())
	for n := range 3 {
		b.add(append(reps(3), coach.Entry{Kind: coach.EntryStop, Tag: fmt.Sprintf("T%d", n)})...)
	}
	b.stop()
	d.NoLog(true)
	b = newBox(t, dir, s.URL())
	s.Start(t)
	eventually(t, func() bool { return len(d.Urgent()) == 3 }, "%d stops came", len(d.Urgent()))
	for i, r := range d.Urgent() {
		require.Equal(t, fmt.Sprintf("T%d", 2-i), r.Entry.Tag, "the newest comes first")
	}
	d.NoLog(false)
	b.arrived(d)
	require.Equal(t, 3, d.Of(coach.EntryStop))
}

func TestOldCardImage(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	b := newBox(t, dir, s.URL())
	b.add(reps(50)...)
	b.arrived(d)
	b.stop()
	image := t.TempDir()
	require.NoError(t, os.CopyFS(image, os.DirFS(dir)))
	b = newBox(t, dir, s.URL())
	b.add(reps(50)...)
	b.arrived(d)
	b.stop()

	// The card from before is put back: its numbers begin a new epoch, and
	// nothing of it is taken for what the desk has.
	require.NoError(t, os.Chmod(filepath.Join(image, "link.json"), 0o600))
	old := newBox(t, image, s.URL())
	old.add(reps(50)...)
	eventually(t, func() bool { return old.unsent() == 0 }, "the old card's log was not sent")
	require.Equal(t, 3*51, d.Count(), "three starts of the program with fifty entries each")
	require.Empty(t, d.Breaks())
}

// wrongClock believes that it is 1970.
type wrongClock struct{}

func (wrongClock) Now() journal.Instant {
	return journal.Instant{Mono: journal.BootTime(), Wall: time.Unix(86400, 0)}
}
func (wrongClock) Mono() int64 { return journal.BootTime() }

func TestAStationWithoutAClock(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	b := newBox(t, enrolled(t, d, s, "Bay 3"), s.URL(), journal.WithClock(wrongClock{}))
	d.NoLog(true)
	b.add(append(reps(3), stop())...)
	eventually(t, func() bool { return len(d.Urgent()) == 1 }, "the stop did not come")
	u := d.Urgent()[0]
	require.Nil(t, u.Entry.Wall)
	require.Equal(t, "boot", u.Boot)
	require.GreaterOrEqual(t, u.MonoNS, u.Entry.MonoNS, "its age is known all the same")
	d.NoLog(false)
	b.arrived(d)
}

func dialer(conf *tls.Config) func(context.Context, string, string, *tls.Config) (net.Conn, error) {
	return func(ctx context.Context, network, addr string, _ *tls.Config) (net.Conn, error) {
		d := tls.Dialer{Config: conf}
		return d.DialContext(ctx, network, addr)
	}
}
