package store_test

import (
	"database/sql"
	"flag"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
)

const batchOf = 500

// longTape is a log of sessions of about 120 entries.
func longTape(b testing.TB, entries int) *tape {
	tp := newTape(b)
	for n := 0; len(tp.all) < entries; n++ {
		tp.session(fmt.Sprintf("%08d-0000-4000-8000-000000000000", n), fmt.Sprint("K", n%4), 117)
	}
	return tp
}

// Entries a second that Append takes in, in batches of 500, beside as many
// plain rows put into the same table with nothing looked at.
func BenchmarkAppend(b *testing.B) {
	tp := longTape(b, 20_000)
	entries := len(tp.all) / batchOf * batchOf
	var took, plain time.Duration
	for b.Loop() {
		took += appendAll(b, tp.all[:entries])
		plain += insertAll(b, tp.all[:entries])
	}
	n := float64(b.N * entries)
	b.ReportMetric(n/took.Seconds(), "entries/s")
	b.ReportMetric(n/plain.Seconds(), "plain-rows/s")
	b.ReportMetric(plain.Seconds()/took.Seconds(), "of-plain")
}

func appendAll(b testing.TB, records []journal.Record) time.Duration {
	s, err := store.Open(b.Context(), b.TempDir())
	require.NoError(b, err)
	defer s.Close()
	station := addStation(b, s, "Bay 1")
	from := time.Now()
	for n := 0; n < len(records); n += batchOf {
		done, err := s.Append(b.Context(), store.Batch{Station: station, Records: records[n : n+batchOf], Received: noon})
		require.NoError(b, err)
		require.Len(b, done.Added, batchOf)
	}
	return time.Since(from)
}

func insertAll(b testing.TB, records []journal.Record) time.Duration {
	dir := b.TempDir()
	s, err := store.Open(b.Context(), dir)
	require.NoError(b, err)
	defer s.Close()
	db, err := sql.Open("sqlite", filepath.Join(dir, "desk.db")+"?_txlock=immediate&_pragma=synchronous(FULL)&_pragma=journal_mode(wal)")
	require.NoError(b, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	from := time.Now()
	for n := 0; n < len(records); n += batchOf {
		tx, err := db.Begin()
		require.NoError(b, err)
		insert, err := tx.Prepare("INSERT INTO entry (epoch, seq, line, hash, session, tag, kind, mono, at, within_ms, dated, received, carried) VALUES (1, ?, ?, ?, ?, ?, ?, 0, 0, 0, 0, 0, 0)")
		require.NoError(b, err)
		for _, r := range records[n : n+batchOf] {
			_, err := insert.Exec(r.Seq, string(r.Line), r.Hash.String(), "00000000-0000-4000-8000-000000000000", "K4", "rep")
			require.NoError(b, err)
		}
		require.NoError(b, tx.Commit())
	}
	return time.Since(from)
}

var patients = flag.Int("patients", 20, "in the store that page benchmarks read; 500 for a large clinic, two years and an hour to build")

const visits = 200 // two years of two a week

// twoYears is a store in which every patient came 200 times, in the order in
// which it would have happened, so that one patient's rows lie far apart.
func twoYears(b *testing.B) *store.Store {
	s := inFolder(b, b.TempDir())
	station := addStation(b, s, "Bay 1")
	tp := newTape(b)
	for visit := range visits {
		for p := range *patients {
			tp.session(fmt.Sprintf("%08d-0000-4000-8000-%012d", p, visit), fmt.Sprint("K", p), 117)
			if len(tp.all) > 5000 {
				send(b, s, station, tp.all...)
				tp.all = tp.all[:0]
			}
		}
	}
	send(b, s, station, tp.all...)
	return s
}

// What a patient's page asks for, in a store of two years.
func BenchmarkPatientPage(b *testing.B) {
	s := twoYears(b)
	read := func(f store.EntryFilter) func(*testing.B) {
		return func(b *testing.B) {
			n := 0
			for b.Loop() {
				n = 0
				for e, err := range s.Entries(b.Context(), f) {
					require.NoError(b, err)
					_, err := e.Entry()
					require.NoError(b, err)
					n++
				}
			}
			b.ReportMetric(float64(n), "entries")
			b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N), "ms")
		}
	}
	tag := "K7"
	b.Run("all entries", read(store.EntryFilter{Tag: tag}))
	b.Run("without repetitions", read(store.EntryFilter{Tag: tag, Without: []coach.EntryKind{coach.EntryRep, coach.EntryPress}}))
	b.Run("one session", read(store.EntryFilter{Session: "00000007-0000-4000-8000-000000000100"}))
	b.Run("sessions", func(b *testing.B) {
		for b.Loop() {
			all, err := s.Sessions(b.Context(), store.SessionFilter{Tag: tag})
			require.NoError(b, err)
			require.Len(b, all, visits)
		}
		b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N), "ms")
	})
}
