package linktest

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// Subject is a desk to hold against the contract.
type Subject struct {
	Desk link.Desk
	// Code makes a one-time code for a new station of a name.
	Code func(name string) string
	// Raised counts the attentions the desk has, however each came to it.
	Raised func() int
	// Broken counts what was found wrong with logs.
	Broken func() int
	// Revoke shuts a station out by its name.
	Revoke func(name string)
}

// Contract is what every link.Desk keeps. fresh makes one that knows nobody.
func Contract(t *testing.T, fresh func(t *testing.T) Subject) {
	for name, test := range map[string]func(*testing.T, Subject){
		"a code is good once":                          codeOnce,
		"five wrong tries spend a code":                fiveTries,
		"a revoked key is refused and told":            revoked,
		"entries have effect once":                     once,
		"overlapping, early and late batches":          overlapping,
		"a batch that does not continue is noticed":    forgedBatch,
		"what is gone is passed over and never hidden": gone,
		"one attention for an urgent entry":            urgentOnce,
		"marks of what is not here are nought":         unknownMarks,
	} {
		t.Run(name, func(t *testing.T) { test(t, fresh(t)) })
	}
}

var ctx = context.Background()

// home is where devices of these tests are.
const home = "192.0.2.7"

// letIn enrols a key and gives the station it belongs to.
func letIn(t *testing.T, s Subject, name, key string) link.Peer {
	t.Helper()
	code := s.Code(name)
	e, err := s.Desk.Enrol(ctx, key, home, func(c string) bool { return c == code })
	require.NoError(t, err)
	assert.Equal(t, name, e.Name)
	assert.Equal(t, code, e.Code)
	assert.Len(t, e.Secret, 32)
	p, err := s.Desk.Station(ctx, key)
	require.NoError(t, err)
	assert.Equal(t, name, p.Name)
	assert.Equal(t, key, p.Key)
	return p
}

const (
	aKey = "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"
	bKey = "bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb"
)

func codeOnce(t *testing.T, s Subject) {
	_, err := s.Desk.Station(ctx, aKey)
	require.ErrorIs(t, err, link.ErrUnknown)
	var seen []string
	code := s.Code("Bay 3")
	_, err = s.Desk.Enrol(ctx, aKey, home, func(c string) bool { seen = append(seen, c); return c == code })
	require.NoError(t, err)
	assert.Contains(t, seen, code)
	_, err = s.Desk.Enrol(ctx, bKey, home, func(c string) bool { return c == code })
	require.ErrorIs(t, err, link.ErrCode)
	_, err = s.Desk.Station(ctx, bKey)
	require.ErrorIs(t, err, link.ErrUnknown)
}

func fiveTries(t *testing.T, s Subject) {
	code := s.Code("Bay 3")
	for i := range 5 {
		_, err := s.Desk.Enrol(ctx, aKey, fmt.Sprint("192.0.2.", 10+i), func(string) bool { return false })
		require.ErrorIs(t, err, link.ErrCode)
	}
	_, err := s.Desk.Enrol(ctx, aKey, home, func(c string) bool { return c == code })
	require.ErrorIs(t, err, link.ErrCode)
}

func revoked(t *testing.T, s Subject) {
	p := letIn(t, s, "Bay 3", aKey)
	changed, stop := s.Desk.Watch(p)
	defer stop()
	_, err := s.Desk.State(ctx, p)
	require.NoError(t, err)
	for len(changed) > 0 {
		<-changed
	}
	s.Revoke("Bay 3")
	_, err = s.Desk.Station(ctx, aKey)
	require.ErrorIs(t, err, link.ErrRevoked)
	_, err = s.Desk.State(ctx, p)
	require.ErrorIs(t, err, link.ErrRevoked)
	select {
	case <-changed:
	case <-time.After(30 * time.Second):
		t.Fatal("who watches is not told")
	}
}

// chain is a log of one epoch with n repetitions, or what else kinds say of a
// number.
func chain(t *testing.T, epoch string, n int, kinds map[int64]coach.EntryKind) []journal.Record {
	t.Helper()
	var out []journal.Record
	var at journal.Hash
	for seq := int64(1); seq <= int64(n); seq++ {
		e := coach.Entry{Epoch: epoch, Seq: seq, Boot: "boot", MonoNS: seq * 1e9, Session: "s", Tag: "K4", Kind: coach.EntryRep, Data: &coach.RepData{}}
		if seq == 1 {
			e.Kind, e.Data, e.Session, e.Tag = coach.EntryStart, &coach.StartData{}, "", ""
		}
		if k, ok := kinds[seq]; ok {
			e.Kind, e.Data = k, nil
		}
		line, err := journal.Line(e)
		require.NoError(t, err)
		at = at.Next(line)
		out = append(out, journal.Record{Position: journal.Position{Epoch: epoch, Seq: seq}, Line: line, Hash: at})
	}
	return out
}

// piece is the batch of numbers from to to.
func piece(log []journal.Record, from, to int64) link.Batch {
	b := link.Batch{Epoch: log[0].Epoch, After: from - 1, Records: slices.Clone(log[from-1 : to])}
	if from > 1 {
		b.Before = log[from-2].Hash
	}
	return b
}

func epochName(n int) string { return fmt.Sprintf("%032x", n) }

func mark(t *testing.T, s Subject, p link.Peer, epoch string) int64 {
	t.Helper()
	m, err := s.Desk.Marks(ctx, p, []string{epoch})
	require.NoError(t, err)
	require.Len(t, m, 1)
	require.Equal(t, epoch, m[0].Epoch)
	return m[0].Seq
}

func appends(t *testing.T, s Subject, p link.Peer, b link.Batch, want int64) {
	t.Helper()
	m, err := s.Desk.Append(ctx, p, b)
	require.NoError(t, err)
	assert.Equal(t, link.Mark{Epoch: b.Epoch, Seq: want}, m)
}

func once(t *testing.T, s Subject) {
	p := letIn(t, s, "Bay 3", aKey)
	log := chain(t, epochName(1), 6, map[int64]coach.EntryKind{4: coach.EntryStop})
	appends(t, s, p, piece(log, 1, 6), 6)
	appends(t, s, p, piece(log, 1, 6), 6)
	assert.Equal(t, 1, s.Raised(), "a stop that comes with the log is raised, and once")
	assert.EqualValues(t, 6, mark(t, s, p, epochName(1)))
	q := letIn(t, s, "Bay 4", bKey)
	assert.Zero(t, mark(t, s, q, epochName(1)), "another station's epoch is another's")
}

func overlapping(t *testing.T, s Subject) {
	p := letIn(t, s, "Bay 3", aKey)
	log := chain(t, epochName(1), 9, nil)
	appends(t, s, p, piece(log, 4, 6), 0)
	appends(t, s, p, piece(log, 1, 3), 3)
	appends(t, s, p, piece(log, 2, 5), 5)
	appends(t, s, p, piece(log, 1, 2), 5)
	appends(t, s, p, piece(log, 8, 9), 5)
	appends(t, s, p, piece(log, 6, 9), 9)
}

func forgedBatch(t *testing.T, s Subject) {
	p := letIn(t, s, "Bay 3", aKey)
	log := chain(t, epochName(1), 6, nil)
	appends(t, s, p, piece(log, 1, 3), 3)
	other := chain(t, epochName(1), 6, map[int64]coach.EntryKind{2: coach.EntryPause})
	require.Zero(t, s.Broken())
	m, err := s.Desk.Append(ctx, p, piece(other, 4, 6))
	assert.Positive(t, s.Broken(), "people are told")
	if err != nil {
		require.ErrorIs(t, err, link.ErrChain)
		assert.EqualValues(t, 3, mark(t, s, p, epochName(1)))
	} else {
		assert.Equal(t, link.Mark{Epoch: epochName(1), Seq: 6}, m, "it is kept beside the break")
	}
}

func gone(t *testing.T, s Subject) {
	p := letIn(t, s, "Bay 3", aKey)
	log := chain(t, epochName(1), 9, nil)
	appends(t, s, p, piece(log, 1, 2), 2)
	b := piece(log, 6, 9)
	b.Gone = true
	appends(t, s, p, b, 9)
	assert.Equal(t, 1, s.Broken())
	appends(t, s, p, b, 9)
	assert.Equal(t, 1, s.Broken())
}

func urgentOnce(t *testing.T, s Subject) {
	p := letIn(t, s, "Bay 3", aKey)
	log := chain(t, epochName(1), 6, map[int64]coach.EntryKind{4: coach.EntryStop})
	e, err := log[3].Entry()
	require.NoError(t, err)
	for range 2 {
		require.NoError(t, s.Desk.Raise(ctx, p, link.Urgent{Line: log[3].Line, Entry: e, Boot: "boot", MonoNS: 5e9}))
	}
	assert.Equal(t, 1, s.Raised())
	assert.Zero(t, mark(t, s, p, epochName(1)), "an urgent entry moves no mark")
	appends(t, s, p, piece(log, 1, 6), 6)
	assert.Equal(t, 1, s.Raised())
}

func unknownMarks(t *testing.T, s Subject) {
	p := letIn(t, s, "Bay 3", aKey)
	m, err := s.Desk.Marks(ctx, p, []string{epochName(2), epochName(1)})
	require.NoError(t, err)
	assert.Equal(t, []link.Mark{{Epoch: epochName(2)}, {Epoch: epochName(1)}}, m)
	_, err = s.Desk.Plan(ctx, p, 5)
	require.ErrorIs(t, err, link.ErrNoPlan)
	_, err = s.Desk.Recording(ctx, p, fmt.Sprintf("%064x", 5))
	require.ErrorIs(t, err, link.ErrNoRecording)
}
