package desk

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
)

// Desk is the services of the staff server. All its methods may be called from
// several goroutines.
type Desk struct {
	store    *store.Store
	now      func() time.Time
	random   io.Reader
	length   Length
	recorder Recorder
	log      *slog.Logger

	fingerprint string

	tries   *tries
	board   *board
	events  *broadcast
	logs    *logs
	looks   *looks
	texts   texts
	intake  *intake
	alone   bool
	running atomic.Bool // Run is at work in this process

	classes   sync.Mutex // one timetable is searched or repaired at a time
	enrolling sync.Mutex // one device at a time is let in or refused

	shared sync.Mutex
	all    *forStations // guarded by shared
}

// Length tells how long a session takes a patient who answers at once, spoken
// by a voice pack: to its first item, and in all.
type Length func(voice string, who coach.Programme) (lead, total time.Duration, err error)

// Config is what a desk is made of. Store is required.
type Config struct {
	// Alone says that no other process serves the store, so none has to be told
	// of changes.
	Alone  bool
	Store  *store.Store
	Now    func() time.Time // nil for the system's clock
	Random io.Reader        // nil for the system's
	Length Length           // nil where nobody can tell: lengths are then 0
	// Recorder makes recorded lines; nil where nothing can be recorded.
	Recorder Recorder
	Log      *slog.Logger // nil for none
	// Fingerprint is the SHA-256 of the desk's public key, in hexadecimal, by
	// which stations know it.
	Fingerprint string
}

// New makes a desk over a store.
func New(c Config) *Desk {
	d := &Desk{store: c.Store, now: c.Now, random: c.Random, length: c.Length, recorder: c.Recorder, log: c.Log, fingerprint: c.Fingerprint}
	if d.now == nil {
		d.now = time.Now
	}
	if d.random == nil {
		d.random = rand.Reader
	}
	if d.log == nil {
		d.log = slog.New(slog.DiscardHandler)
	}
	d.alone = c.Alone
	d.tries, d.board, d.events = newTries(), newBoard(), newBroadcast()
	d.logs, d.looks, d.intake = newLogs(), newLooks(), &intake{d: d}
	return d
}

// Store is what the desk keeps, for exports and for what runs beside it. Who
// reads it looks at roles and writes the audit trail on their own.
func (d *Desk) Store() *store.Store { return d.store }

// Time is now on the desk's clock.
func (d *Desk) Time() time.Time { return d.now().UTC().Truncate(time.Millisecond) }

// moment is now for telling how long something has lasted: it carries the
// monotonic clock, which nobody can set.
func (d *Desk) moment() time.Time { return d.now().UTC() }

// Today is today in the clinic's zone.
func (d *Desk) Today(ctx context.Context) (coach.Day, error) {
	zone, err := d.Zone(ctx)
	if err != nil {
		return "", err
	}
	return coach.DayOf(d.Time().In(zone)), nil
}

// audit writes one line of the audit trail. What it is about is a tag or an
// id, never a name of a patient.
func (d *Desk) audit(ctx context.Context, who Actor, action Action, subject, detail string) error {
	return d.auditAs(ctx, who.Name, string(action), subject, detail)
}

// auditAs is audit for what is no action of the table.
func (d *Desk) auditAs(ctx context.Context, by, action, subject, detail string) error {
	err := d.store.Audit(ctx, store.AuditLine{At: d.Time(), By: by, Action: action, Subject: subject, Detail: detail})
	if err != nil {
		return fmt.Errorf("writing the audit trail: %w", err)
	}
	return nil
}
