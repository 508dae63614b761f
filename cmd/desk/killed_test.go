package main

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
)

var (
	deskKills = flag.Int("deskkills", 8, "how often the desk is killed while a station uploads")
	backlog   = flag.Int("backlog", 20_000, "how many entries the station has to upload")
)

// offline logs what a station did that was without network for weeks, a stop
// in every two thousand entries.
func (w *wall) offline(n int) (stops int) {
	j, err := journal.Open(w.data)
	require.NoError(w.h.t, err)
	defer func() { require.NoError(w.h.t, j.Close()) }()
	var batch []coach.Entry
	for i := range n {
		e := coach.Entry{Kind: coach.EntryRep, Session: fmt.Sprintf("s%d", i/1000), Tag: "K4", Item: 1, Exercise: "biceps-curl", Set: 1, Rep: i%10 + 1, Data: &coach.RepData{}}
		if i%2000 == 500 {
			e.Kind, e.Data = coach.EntryStop, nil
			stops++
		}
		if batch = append(batch, e); len(batch) == 500 || i == n-1 {
			_, err := j.Append(batch...)
			require.NoError(w.h.t, err)
			batch = nil
		}
	}
	return stops
}

// A station that was long without network uploads its log while the desk is
// killed without warning again and again, and is once put back from an older
// backup. Every entry is there once, byte for byte, and every stop raised one
// attention and one hold.
func TestDeskKilledWhileAStationUploads(t *testing.T) {
	h := newHouse(t)
	h.serve()
	w := h.mount("Bay 3", 100)
	stops := w.offline(*backlog)
	dice := rand.New(rand.NewPCG(1, 2))
	copied := filepath.Join(t.TempDir(), "copy")
	w.start()
	mid := int64(0)
	for n := range *deskKills {
		time.Sleep(time.Duration(20+dice.IntN(200)) * time.Millisecond)
		if n == *deskKills/2 {
			h.run("", "desk", "backup", "--data", h.data, copied)
			mid = h.marks()
		}
		h.kill()
		t.Logf("killed at entry %d", h.marks())
		h.serve()
	}
	whole := func() bool { return h.marks() >= int64(*backlog) }
	wait(t, "the whole backlog", whole)
	before := h.everyEntryOnce(w)

	h.stop()
	h.run("", "desk", "restore", "--data", h.data, copied)
	require.LessOrEqual(t, h.marks(), mid+int64(*backlog)/2)
	h.serve()
	wait(t, "the backlog again", whole)
	assert.Equal(t, before, h.everyEntryOnce(w), "as before the backup was put back")
	h.once(stops)
	t.Logf("%d entries, %d stops, %d kills, a backup at entry %d: each once", *backlog, stops, *deskKills, mid)
}

// opened gives the desk's store, beside the desk that serves it.
func (h *house) opened(do func(*store.Store)) {
	s, err := store.Open(context.Background(), h.data)
	require.NoError(h.t, err)
	defer func() { require.NoError(h.t, s.Close()) }()
	do(s)
}

// marks is how many entries the desk has, by its marks.
func (h *house) marks() (n int64) {
	h.opened(func(s *store.Store) {
		all, err := s.Moved(context.Background(), 0)
		require.NoError(h.t, err)
		for _, e := range all {
			n += e.Mark
		}
	})
	return n
}

// everyEntryOnce holds what the desk has of the offline epoch against the
// station's own log.
func (h *house) everyEntryOnce(w *wall) []string {
	var want []string
	records, err := w.reader.After(journal.Position{}, *backlog+1)
	require.NoError(h.t, err)
	epoch := records[0].Epoch
	for _, r := range records {
		if r.Epoch == epoch {
			want = append(want, string(r.Line))
		}
	}
	require.Len(h.t, want, *backlog+1)
	var have []string
	h.opened(func(s *store.Store) {
		for e, err := range s.Entries(context.Background(), store.EntryFilter{Epoch: epoch}) {
			require.NoError(h.t, err)
			have = append(have, string(e.Line))
		}
		breaks, err := s.Breaks(context.Background(), 0)
		require.NoError(h.t, err)
		for _, b := range breaks {
			// After an older backup the newest epoch may come before the end of the
			// one before it, which mends it.
			require.NotNil(h.t, b.Mended, "%+v", b)
		}
	})
	require.Equal(h.t, want, have)
	return have
}

// once looks that every stop raised one attention and one hold.
func (h *house) once(stops int) {
	h.opened(func(s *store.Store) {
		all, err := s.Attentions(context.Background(), store.AttentionFilter{})
		require.NoError(h.t, err)
		n := 0
		for _, a := range all {
			if a.Reason == store.StopPressed {
				n++
			}
		}
		assert.Equal(h.t, stops, n, "attentions for stops")
		holds, err := s.OpenHolds(context.Background())
		require.NoError(h.t, err)
		assert.Len(h.t, holds, stops)
	})
}
