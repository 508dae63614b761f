package journal_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
)

func open(t testing.TB, dir string, with ...journal.Option) *journal.Journal {
	t.Helper()
	j, err := journal.Open(dir, with...)
	require.NoError(t, err)
	t.Cleanup(func() { _ = j.Close() })
	return j
}

func appendTo(t testing.TB, j *journal.Journal, entries ...coach.Entry) journal.Position {
	t.Helper()
	at, err := j.Append(entries...)
	require.NoError(t, err)
	return at
}

func verify(t testing.TB, dir string) journal.Report {
	t.Helper()
	r, err := journal.OpenReader(dir)
	require.NoError(t, err)
	defer r.Close()
	rep, err := r.Verify()
	require.NoError(t, err)
	return rep
}

// rep is the nth of a run of entries that tell one another apart.
func rep(n int) coach.Entry {
	return coach.Entry{Kind: coach.EntryRep, Sample: coach.Samples(n), Tag: "K4", Item: 1, Exercise: "heel-raise", Set: 1, Rep: n, Data: &coach.RepData{}}
}

func all(t testing.TB, r *journal.Reader) []journal.Record {
	t.Helper()
	records, err := r.After(journal.Position{}, 1_000_000)
	require.NoError(t, err)
	return records
}

func TestAnEpochBeginsWithItsStartAndCountsOn(t *testing.T) {
	dir := t.TempDir()
	j := open(t, dir)
	assert.Equal(t, journal.Position{Epoch: j.Epoch(), Seq: 1}, head(t, j))
	assert.Equal(t, journal.Position{Epoch: j.Epoch(), Seq: 3}, appendTo(t, j, rep(1), rep(2)))
	assert.Equal(t, journal.Position{Epoch: j.Epoch(), Seq: 3}, appendTo(t, j), "nothing to write")

	records := all(t, j.Reader)
	require.Len(t, records, 3)
	first, err := records[0].Entry()
	require.NoError(t, err)
	assert.Equal(t, coach.EntryStart, first.Kind)
	assert.Equal(t, &coach.StartData{}, first.Data)
	second, err := records[1].Entry()
	require.NoError(t, err)
	boot, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	require.NoError(t, err)
	assert.Equal(t, string(boot), second.Boot+"\n")
	assert.Equal(t, 1, second.Rep)
	assert.Positive(t, second.MonoNS)
}

func head(t testing.TB, j *journal.Journal) journal.Position {
	t.Helper()
	p, err := j.Head()
	require.NoError(t, err)
	return p
}

func TestTheNextStartNamesTheLast(t *testing.T) {
	dir := t.TempDir()
	first := open(t, dir)
	assert.Zero(t, first.Previous())
	last := appendTo(t, first, rep(1))
	records := all(t, first.Reader)
	require.NoError(t, first.Close())

	second := open(t, dir)
	want := coach.StartData{PreviousEpoch: last.Epoch, PreviousSeq: 2, PreviousHash: records[1].Hash.String()}
	assert.Equal(t, want, second.Previous())
	assert.NotEqual(t, first.Epoch(), second.Epoch())
	assert.Equal(t, journal.Report{Epochs: 2, Entries: 3, Head: journal.Position{Epoch: second.Epoch(), Seq: 1}}, verify(t, dir))
}

// A start says how long ago the last entry was, power cuts and all, where a
// clock tells: in one boot the boot's own, else two trusted wall times.
func TestAStartSaysHowLongTheStationWasOff(t *testing.T) {
	noon := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	at := func(mono time.Duration, wall time.Time, trusted bool) *fakeClock {
		return &fakeClock{journal.Instant{Mono: int64(mono), Wall: wall, Trusted: trusted}}
	}
	for name, c := range map[string]struct {
		before, after *fakeClock
		boot          string // of the entries before; this one's where empty
		want          string
	}{
		"one boot, no clock": {at(time.Hour, noon, false), at(time.Hour+90*time.Second, noon, false), "", "90.000"},
		"another boot":       {at(time.Hour, noon, true), at(time.Minute, noon.Add(312400*time.Millisecond), true), "b", "312.400"},
		"set back meanwhile": {at(time.Hour, noon, true), at(time.Minute, noon.Add(-time.Hour), true), "b", "0.000"},
		"no clock since":     {at(time.Hour, noon, true), at(time.Minute, noon, false), "b", ""},
		"no clock before":    {at(time.Hour, noon, false), at(time.Minute, noon, true), "b", ""},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			j := open(t, dir, journal.WithClock(c.before))
			if c.boot != "" {
				j.InBoot(c.boot)
			}
			appendTo(t, j, rep(1))
			require.NoError(t, j.Close())
			j = open(t, dir, journal.WithClock(c.after))
			verify(t, dir)
			records := all(t, j.Reader)
			e, err := records[len(records)-1].Entry()
			require.NoError(t, err)
			gap := ""
			if d := e.Data.(*coach.StartData); d.Gap != nil {
				gap = d.Gap.String()
			}
			assert.Equal(t, c.want, gap)
		})
	}
}

func TestTheChainCanBeCheckedFromTheLinesAlone(t *testing.T) {
	j := open(t, t.TempDir())
	appendTo(t, j, everyKind()...)
	var h journal.Hash
	for _, r := range all(t, j.Reader) {
		h = h.Next(r.Line)
		assert.Equal(t, h, r.Hash)
	}
}

func TestReadingGoesOnFromOneEpochToTheNext(t *testing.T) {
	dir := t.TempDir()
	for range 3 {
		j := open(t, dir)
		appendTo(t, j, rep(1), rep(2), rep(3))
		require.NoError(t, j.Close())
	}
	r, err := journal.OpenReader(dir)
	require.NoError(t, err)
	defer r.Close()
	want := all(t, r)
	require.Len(t, want, 12)
	for _, limit := range []int{1, 2, 3, 4, 5, 100} {
		var got []journal.Record
		at := journal.Position{}
		for {
			batch, err := r.After(at, limit)
			require.NoError(t, err)
			if len(batch) == 0 {
				break
			}
			assert.LessOrEqual(t, len(batch), limit)
			got, at = append(got, batch...), batch[len(batch)-1].Position
		}
		assert.Equal(t, want, got, "by %d", limit)
	}
	_, err = r.After(journal.Position{Epoch: "no such"}, 1)
	assert.EqualError(t, err, `this log has no epoch "no such"`)
}

func TestTheNewestEntries(t *testing.T) {
	_, _, j := twoEpochs(t)
	for _, c := range []struct {
		limit int
		want  []int64
	}{{0, nil}, {1, []int64{4}}, {4, []int64{1, 2, 3, 4}}, {6, []int64{4, 5, 1, 2, 3, 4}}, {100, []int64{1, 2, 3, 4, 5, 1, 2, 3, 4}}} {
		got, err := j.Newest(c.limit)
		require.NoError(t, err)
		assert.Equal(t, c.want, seqs(got), "%d", c.limit)
	}
}

// What is written out can be read as JSON lines, and is what the log holds.
func TestALogWrittenOut(t *testing.T) {
	j := open(t, t.TempDir())
	for n := range 5 {
		var batch []coach.Entry
		for i := range 250 {
			batch = append(batch, rep(n*250+i))
		}
		appendTo(t, j, batch...)
	}
	var b bytes.Buffer
	n, err := j.WriteTo(&b)
	require.NoError(t, err)
	assert.EqualValues(t, b.Len(), n)
	got, faults := journal.Read("j", &b)
	assert.Empty(t, faults)
	assert.Equal(t, entries(t, j), got)
	assert.Len(t, got, 1251)
}

// The clock of a machine that has none of its own is believed once the kernel
// has been told the time, and never before the year of this program.
func TestWhichClockIsTrusted(t *testing.T) {
	now := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		wall                       time.Time
		synchronised, runsWhileOff bool
		want                       bool
	}{
		{now, true, false, true},
		{now, false, true, true},
		{now, false, false, false},
		{time.Unix(5, 0), true, true, false},
		{time.Date(2025, 12, 31, 23, 59, 59, 0, time.UTC), true, true, false},
	} {
		assert.Equal(t, c.want, journal.Trusted(c.wall, c.synchronised, c.runsWhileOff), "%+v", c)
	}
	a := journal.SystemClock{}.Mono()
	assert.Greater(t, journal.SystemClock{}.Now().Mono, a)
}

func TestThereIsOneWriterAndManyReaders(t *testing.T) {
	dir := t.TempDir()
	_, err := journal.OpenReader(dir)
	assert.ErrorIs(t, err, journal.ErrNoLog)
	j := open(t, dir)
	_, err = journal.Open(dir)
	assert.ErrorIs(t, err, journal.ErrInUse)
	_, err = journal.SetAside(dir)
	assert.ErrorIs(t, err, journal.ErrInUse)

	r, err := journal.OpenReader(dir)
	require.NoError(t, err)
	defer r.Close()
	for i := range 40 { // past more than one checkpoint
		appendTo(t, j, rep(i))
		report, err := r.Verify()
		require.NoError(t, err)
		assert.Equal(t, i+2, report.Entries)
	}
	require.NoError(t, j.Close())
	_, err = j.Append(rep(1))
	assert.EqualError(t, err, "the log is closed")
	require.NoError(t, j.Close())
}

// Verifying a log that grows meanwhile finds it sound.
func TestVerifyingWhileAppending(t *testing.T) {
	dir := t.TempDir()
	j := open(t, dir)
	r, err := journal.OpenReader(dir)
	require.NoError(t, err)
	defer r.Close()
	done := make(chan error)
	go func() {
		for range 60 {
			if _, err := r.Verify(); err != nil {
				done <- err
				return
			}
		}
		done <- nil
	}()
	for n := 0; ; n++ {
		select {
		case err := <-done:
			require.NoError(t, err)
			report, err := j.Verify()
			require.NoError(t, err)
			assert.Equal(t, n+1, report.Entries)
			return
		default:
			if n < 500 {
				appendTo(t, j, rep(n))
			} else {
				n--
				time.Sleep(time.Millisecond)
			}
		}
	}
}

func TestTheJournalWritesItsOwnStarts(t *testing.T) {
	j := open(t, t.TempDir())
	_, err := j.Append(coach.Entry{Kind: coach.EntryStart})
	assert.EqualError(t, err, "a start entry is the journal's own to write")
	appendTo(t, j, rep(1))
}

// What cannot be written as JSON is the caller's fault and harms nothing.
func TestAnEntryThatCannotBeWrittenIsRefused(t *testing.T) {
	j := open(t, t.TempDir())
	_, err := j.Append(rep(1), coach.Entry{Kind: "odd", Data: make(chan int)})
	require.ErrorContains(t, err, "writing a odd entry: json: unsupported type")
	assert.EqualValues(t, 2, appendTo(t, j, rep(2)).Seq)
}

// fakeClock is moved by hand.
type fakeClock struct{ now journal.Instant }

func (c *fakeClock) Now() journal.Instant { return c.now }

func (c *fakeClock) Mono() int64 { return c.now.Mono }

func (c *fakeClock) pass(d time.Duration) {
	c.now.Mono += int64(d)
	c.now.Wall = c.now.Wall.Add(d)
}

func entries(t testing.TB, j *journal.Journal) []coach.Entry {
	t.Helper()
	var out []coach.Entry
	for _, r := range all(t, j.Reader) {
		e, err := r.Entry()
		require.NoError(t, err)
		out = append(out, e)
	}
	return out
}

// A clock in 1970 gives no wall time; once it is set, an entry that waited
// gets the time of its event.
func TestAClockIn1970(t *testing.T) {
	c := &fakeClock{journal.Instant{Mono: 5e9, Wall: time.Unix(5, 0)}}
	j := open(t, t.TempDir(), journal.WithClock(c))
	appendTo(t, j, rep(1))
	c.now = journal.Instant{Mono: 65e9, Wall: time.Date(2026, 3, 2, 9, 1, 0, 0, time.UTC), Trusted: true}
	waited := rep(2)
	waited.MonoNS = 5e9
	appendTo(t, j, waited, rep(3))

	es := entries(t, j)
	require.Len(t, es, 4, "setting the clock for the first time is no step")
	assert.Nil(t, es[0].Wall)
	assert.Nil(t, es[1].Wall)
	assert.EqualValues(t, 5e9, es[1].MonoNS)
	assert.Equal(t, time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), *es[2].Wall)
	assert.Equal(t, time.Date(2026, 3, 2, 9, 1, 0, 0, time.UTC), *es[3].Wall)
	assert.EqualValues(t, 65e9, es[3].MonoNS)
}

// A step is written down before the first entry that is dated by it; the
// boot clock and the numbers go on as if nothing had been.
func TestAClockSteppedByADay(t *testing.T) {
	c := &fakeClock{journal.Instant{Mono: 1e9, Wall: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC), Trusted: true}}
	dir := t.TempDir()
	j := open(t, dir, journal.WithClock(c))
	for _, step := range []time.Duration{0, 24 * time.Hour, 0, -24 * time.Hour, 500 * time.Millisecond} {
		c.pass(5 * time.Second)
		c.now.Wall = c.now.Wall.Add(step)
		appendTo(t, j, rep(1))
	}
	var said []string
	for i, e := range entries(t, j) {
		assert.EqualValues(t, i+1, e.Seq)
		if d, ok := e.Data.(*coach.FaultData); ok {
			said = append(said, d.Part+": "+d.Detail)
		}
	}
	assert.Equal(t, []string{"clock: the clock was moved by 86400.000 s", "clock: the clock was moved by -86400.000 s"}, said)
	assert.Equal(t, 8, verify(t, dir).Entries)
}

func copyFolder(t testing.TB, from, to string) {
	t.Helper()
	require.NoError(t, os.CopyFS(to, os.DirFS(from)))
}

// An old image of the card put back, twice: what was written since is gone
// from the card, and no number that the desk has seen comes again.
func TestAnOldCardImagePutBack(t *testing.T) {
	live, image := t.TempDir(), filepath.Join(t.TempDir(), "image")
	seen := map[journal.Position]string{}
	live1 := open(t, live)
	appendTo(t, live1, rep(1), rep(2))
	require.NoError(t, live1.Close())
	copyFolder(t, live, image)
	for round := range 3 {
		j := open(t, live)
		appendTo(t, j, rep(10*round), rep(10*round+1))
		assert.Equal(t, live1.Epoch(), j.Previous().PreviousEpoch, "the break shows in the start")
		for _, r := range all(t, j.Reader) {
			line, again := seen[r.Position]
			assert.True(t, !again || line == string(r.Line), "%v was given twice", r.Position)
			seen[r.Position] = string(r.Line)
		}
		require.NoError(t, j.Close())
		verify(t, live)
		require.NoError(t, os.RemoveAll(live))
		copyFolder(t, image, live)
	}
	assert.Len(t, seen, 3+3*3)
}
