package main

import (
	"crypto/rand"
	"encoding/hex"
	"sync"
	"time"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
)

// log is a station's log in memory: what is measured is the desk, not three
// hundred small disks.
type log struct {
	mu      sync.Mutex
	epoch   string
	boot    string
	records []journal.Record
	acked   int64
}

func newLog() *log {
	var id [16]byte
	_, _ = rand.Read(id[:]) // it never fails
	l := &log{epoch: hex.EncodeToString(id[:]), boot: hex.EncodeToString(id[:8])}
	l.add(coach.Entry{Kind: coach.EntryStart, Data: &coach.StartData{}})
	return l
}

// add logs an entry, dated by the machine's own boot clock.
func (l *log) add(e coach.Entry) {
	l.mu.Lock()
	defer l.mu.Unlock()
	e.Epoch, e.Seq, e.Boot, e.MonoNS = l.epoch, int64(len(l.records)+1), l.boot, journal.BootTime()
	line, err := journal.Line(e)
	if err != nil {
		panic(err) // entries of this program's own making
	}
	var before journal.Hash
	if n := len(l.records); n > 0 {
		before = l.records[n-1].Hash
	}
	l.records = append(l.records, journal.Record{Position: journal.Position{Epoch: l.epoch, Seq: e.Seq}, Line: line, Hash: before.Next(line)})
}

// led is a repetition, the commonest entry there is.
func led(tag string, n int) coach.Entry {
	return coach.Entry{Kind: coach.EntryRep, Session: "session of " + tag, Tag: tag, Item: 1, Exercise: "biceps-curl", Set: 1, Rep: n%10 + 1, Side: coach.Both, Data: &coach.RepData{}}
}

func (l *log) size() int64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	return int64(len(l.records))
}

// Unsent, CountUnsent, Acknowledged, After, Head and Close are link.LogReader.
func (l *log) Unsent(limit int) (journal.Stretch, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.acked == int64(len(l.records)) {
		return journal.Stretch{}, nil
	}
	s := journal.Stretch{Position: journal.Position{Epoch: l.epoch, Seq: l.acked}}
	if l.acked > 0 {
		s.Before = l.records[l.acked-1].Hash
	}
	s.Records = l.records[l.acked:min(l.acked+int64(limit), int64(len(l.records)))]
	return s, nil
}

func (l *log) CountUnsent() (int64, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return int64(len(l.records)) - l.acked, nil
}

func (l *log) Acknowledged() ([]journal.Position, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return []journal.Position{{Epoch: l.epoch, Seq: l.acked}}, nil
}

func (l *log) After(p journal.Position, limit int) ([]journal.Record, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.records[p.Seq:min(p.Seq+int64(limit), int64(len(l.records)))], nil
}

func (l *log) Head() (journal.Position, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return journal.Position{Epoch: l.epoch, Seq: int64(len(l.records))}, nil
}

func (l *log) Close() error { return nil }

// Acknowledge and Rewind are link.LogMarker.
func (l *log) Acknowledge(p journal.Position) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.acked = max(l.acked, p.Seq)
	return nil
}

func (l *log) Rewind(p journal.Position) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.acked = min(l.acked, p.Seq)
	return nil
}

// plans keeps no plan.
type plans struct{}

func (plans) Has() string                     { return "" }
func (plans) Keep(link.Plan, time.Time) error { return nil }
func (plans) Spoke(time.Time) error           { return nil }
