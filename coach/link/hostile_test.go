package link_test

import (
	"context"
	"flag"
	"math/rand/v2"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/link/linktest"
)

var (
	entries = flag.Int("entries", 3000, "how many entries go through the hostile network")
	every   = flag.Int("every", 97, "cut an exchange at each so-many-th byte; 1 for every byte")
	seed    = flag.Uint64("seed", 1, "of the dice that say what the network does")
)

// An exchange is cut at a byte, towards the desk or from it, and tried again:
// the entry is there once, wherever the cut was.
func TestCutAtEveryByte(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	var harm atomic.Pointer[linktest.Harm]
	p := linktest.NewProxy(t, s, func(int) linktest.Harm {
		if h := harm.Swap(nil); h != nil {
			return *h
		}
		return linktest.Harm{}
	})
	j, err := journal.Open(dir)
	require.NoError(t, err)
	defer j.Close()
	c := link.NewClient(link.Config{Data: dir, URL: p.URL(), Boot: "boot", Marker: j, Log: logger(t),
		Open: func() (link.LogReader, error) { return journal.OpenReader(dir) }})
	n, cuts := 1, 0
	for _, up := range []bool{true, false} {
		for at := 1; ; at += *every {
			h := linktest.Harm{DownAfter: int64(at)}
			if up {
				h = linktest.Harm{UpAfter: int64(at)}
			}
			harm.Store(&h)
			_, err := j.Append(reps(1)...)
			require.NoError(t, err)
			n++
			failed := c.Deliver(context.Background())
			require.Equal(t, n, d.Count(), "cut at byte %d, up %v", at, up)
			if failed == 0 {
				break // the exchange is over before that byte
			}
			cuts++
		}
	}
	same(t, dir, d)
	require.Empty(t, d.Breaks())
	t.Logf("%d cuts: %d entries, each there once", cuts, n)
	require.Greater(t, cuts, 2000 / *every)
}

// dice makes each connection suffer something else.
func dice(r *rand.Rand) func(int) linktest.Harm {
	return func(int) linktest.Harm {
		after := 1 + r.Int64N(150_000)
		switch r.IntN(16) {
		case 0, 1, 2, 3, 4:
			return linktest.Harm{UpAfter: after}
		case 5, 6, 7, 8:
			return linktest.Harm{DownAfter: 1 + after/20}
		case 9:
			return linktest.Harm{Mute: 1000 + after/40} // replies are lost, and noticed by their silence
		case 10:
			return linktest.Harm{Stall: after}
		case 11:
			return linktest.Harm{Late: time.Duration(r.IntN(5000)) * time.Millisecond}
		case 12:
			return linktest.Harm{Delay: time.Duration(r.IntN(300)) * time.Millisecond}
		}
		return linktest.Harm{}
	}
}

// The network cuts, mutes, stalls, delays, and brings late what was given up;
// the desk is killed again and again, and once put back from a backup; and
// with all that the desk has each entry once, and each stop.
func TestThroughAHostileNetwork(t *testing.T) {
	t.Parallel() // it mostly waits
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	r := rand.New(rand.NewPCG(*seed, 1))
	p := linktest.NewProxy(t, s, dice(rand.New(rand.NewPCG(*seed, 2))))
	b := newBox(t, dir, p.URL())
	const commit = 50
	var restore func()
	stops, kills, rounds := 0, 0, *entries/commit
	for n := range rounds {
		batch := reps(commit)
		if r.IntN(10) == 0 {
			batch[r.IntN(commit)] = stop()
			stops++
		}
		b.add(batch...)
		switch {
		case n == rounds/3:
			eventually(t, func() bool { return d.Count() > commit }, "nothing gets through")
			restore = d.Backup()
		case n == 2*rounds/3:
			eventually(t, func() bool { return d.Count() > n*commit/2 }, "nothing gets through")
			s.Kill()
			lost := d.Count()
			restore()
			t.Logf("put back from %d entries to %d", lost, d.Count())
			s.Start(t)
		case r.IntN(20) == 0:
			s.Kill()
			kills++
			time.Sleep(time.Duration(r.IntN(50)) * time.Millisecond)
			s.Start(t)
		}
		time.Sleep(time.Duration(r.IntN(2000)) * time.Microsecond * 4000 / time.Duration(max(4000, *entries)))
	}
	for end := time.Now().Add(10 * time.Minute); b.unsent() > 0 || d.Count() < 1+rounds*commit; time.Sleep(20 * time.Millisecond) {
		require.True(t, time.Now().Before(end), "%d entries are still unsent, the desk has %d", b.unsent(), d.Count())
	}
	same(t, dir, d)
	require.Empty(t, d.Breaks(), "nothing was lost and nothing forged")
	require.Equal(t, stops, d.Of(coach.EntryStop))
	require.Len(t, d.Urgent(), stops, "every stop is known once")
	t.Logf("%d entries, each there once; %d stops; %d connections; the desk killed %d times and once put back",
		d.Count(), stops, p.Connections(), kills)
}

// A peer that falls silent without a word is noticed at both ends.
func TestASilentPeerIsNoticed(t *testing.T) {
	t.Parallel()
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	p := linktest.NewProxy(t, s, func(int) linktest.Harm { return linktest.Harm{} })
	b := newBox(t, dir, p.URL())
	eventually(t, func() bool { return b.client.Up() && d.Listening(1) == 1 }, "the desk was not reached")
	p.Silence()
	began := time.Now()
	eventually(t, func() bool { return !b.client.Up() }, "the desk's silence was not noticed")
	t.Logf("the station noticed after %v", time.Since(began).Round(100*time.Millisecond))
	eventually(t, func() bool { return d.Listening(1) == 0 }, "the station's silence was not noticed")
	t.Logf("the desk noticed after %v", time.Since(began).Round(100*time.Millisecond))
}
