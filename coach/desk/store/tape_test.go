package store_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// tape is a station's log as its journal would hand it over.
type tape struct {
	t       testing.TB
	epochs  int
	at      journal.Position
	hash    journal.Hash
	boot    string
	mono    int64
	trusted bool // whether wall times are written
	all     []journal.Record
}

func newTape(t testing.TB) *tape {
	tp := &tape{t: t, trusted: true}
	tp.boots()
	tp.starts()
	return tp
}

// boots is the device switched on.
func (tp *tape) boots() {
	tp.boot, tp.mono = fmt.Sprintf("boot-%d", tp.epochs+1), 5e9
}

// starts is a start of the program.
func (tp *tape) starts() {
	previous := coach.StartData{}
	if tp.at.Seq > 0 {
		previous = coach.StartData{PreviousEpoch: tp.at.Epoch, PreviousSeq: tp.at.Seq, PreviousHash: tp.hash.String()}
	}
	tp.epochs++
	tp.at, tp.hash = journal.Position{Epoch: fmt.Sprintf("%032x", tp.epochs)}, journal.Hash{}
	tp.write(coach.Entry{Kind: coach.EntryStart, Data: previous})
}

// write numbers, dates and chains an entry, a second after the last.
func (tp *tape) write(e coach.Entry) journal.Record {
	tp.t.Helper()
	tp.at.Seq++
	tp.mono += 1e9
	e.Epoch, e.Seq, e.Boot, e.MonoNS = tp.at.Epoch, tp.at.Seq, tp.boot, tp.mono
	if tp.trusted {
		wall := noon.Add(time.Duration(len(tp.all)) * time.Second)
		e.Wall = &wall
	}
	line, err := journal.Line(e)
	require.NoError(tp.t, err)
	tp.hash = tp.hash.Next(line)
	r := journal.Record{Position: tp.at, Line: line, Hash: tp.hash}
	tp.all = append(tp.all, r)
	return r
}

// session is a short session of a tag, of 2 + reps + 1 entries.
func (tp *tape) session(id, tag string, reps int) {
	tp.write(coach.Entry{Session: id, Tag: tag, Kind: coach.EntrySessionStart,
		Data: coach.SessionStartData{Plan: "plan", Protocol: "protocol", Speed: "1", Part: coach.Whole}})
	tp.write(coach.Entry{Session: id, Tag: tag, Kind: coach.EntrySetStart, Item: 1, Exercise: "heel-raise", Set: 1})
	for rep := range reps {
		tp.write(coach.Entry{Session: id, Tag: tag, Kind: coach.EntryRep, Item: 1, Exercise: "heel-raise", Set: 1, Rep: rep + 1, Data: coach.RepData{}})
	}
	tp.write(coach.Entry{Session: id, Tag: tag, Kind: coach.EntrySessionEnd, Data: coach.SessionEndData{Outcome: coach.Completed}})
}

func addStation(t testing.TB, s *store.Store, name string) int64 {
	t.Helper()
	v, err := s.AddStation(t.Context(), store.Station{Name: name})
	require.NoError(t, err)
	return v.ID
}

// send appends records that came in now.
func send(t testing.TB, s *store.Store, station int64, records ...journal.Record) store.Appended {
	t.Helper()
	done, err := s.Append(t.Context(), store.Batch{Station: station, Records: records, Received: noon.Add(time.Hour)})
	require.NoError(t, err)
	return done
}

// kept gives the lines the store has of a filter.
func kept(t testing.TB, s *store.Store, f store.EntryFilter) []store.Entry {
	t.Helper()
	return keptIn(t, t.Context(), s, f)
}

func keptIn(t testing.TB, ctx context.Context, s *store.Store, f store.EntryFilter) []store.Entry {
	t.Helper()
	var all []store.Entry
	for e, err := range s.Entries(ctx, f) {
		require.NoError(t, err)
		all = append(all, e)
	}
	return all
}

// requireAll makes sure that the store has exactly these records of a station.
func requireAll(t testing.TB, s *store.Store, station int64, want []journal.Record) {
	t.Helper()
	have := map[journal.Position]store.Entry{}
	n := 0
	for _, e := range kept(t, s, store.EntryFilter{Station: station}) {
		have[e.Position] = e
		n++
	}
	require.Len(t, want, n, "as many entries as were written")
	for _, r := range want {
		require.Equal(t, string(r.Line), string(have[r.Position].Line))
		require.Equal(t, r.Hash, have[r.Position].Hash)
	}
}
