package store

import (
	"context"
	"fmt"
	"time"
)

// dating says where an entry's time comes from.
type dating int64

const (
	notDated   dating = 0 // nobody can tell
	ownTime    dating = 1 // the station's own clock, which it trusted
	byContacts dating = 2 // from a contact on the same boot
)

// DriftParts says how far a clock strays, as one part in so many. A crystal is
// off by up to 100 parts in a million (common practice, no
// source), so a time derived from a contact grows less certain by as much of
// the time between.
const DriftParts = 10_000

// earliestTime is before the first day of any of these programs: a clock that
// says less was never set.
var earliestTime = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// OwnTime reports whether a station's wall time can be when something happened
// that was received then. A desk whose own clock was never set cannot tell what
// is in the future.
func OwnTime(wall, received time.Time) bool {
	return !wall.Before(earliestTime) && (received.Before(earliestTime) || !wall.After(received.Add(24*time.Hour)))
}

// date is when an entry happened, as far as can be told.
func date(h head, e *epochRow, received time.Time) (time.Time, time.Duration, dating) {
	if h.Wall != nil && OwnTime(*h.Wall, received) {
		return h.Wall.UTC(), 0, ownTime
	}
	c := nearest(e.contacts, h.MonoNS)
	if c == nil || h.Boot != e.boot {
		return time.Time{}, 0, notDated
	}
	apart := (c.MonoNS - h.MonoNS) / 1e6
	return timeOf(millis(c.At) - apart), time.Duration(c.Within.Milliseconds()+max(apart, -apart)/DriftParts) * time.Millisecond, byContacts
}

// nearest is the contact that dates a moment of a boot best; nil for none.
func nearest(contacts []Contact, mono int64) *Contact {
	var best *Contact
	var least int64
	for i, c := range contacts {
		apart := c.MonoNS - mono
		within := c.Within.Nanoseconds() + max(apart, -apart)/DriftParts
		if best == nil || within < least {
			best, least = &contacts[i], within
		}
	}
	return best
}

// Contacts gives the contacts kept of a station's boot, in the order in which
// they were made.
func (s *Store) Contacts(ctx context.Context, station int64, boot string) ([]Contact, error) {
	return many(ctx, s.reading(ctx), func(r row) (c Contact, err error) {
		return c, r.Scan(&c.Station, &c.Boot, &c.MonoNS, aTime(&c.At), aSpan(&c.Within))
	}, "the contacts", "SELECT station, boot, mono, at, within_ms FROM contact WHERE station = $1 AND boot = $2 ORDER BY mono", station, boot)
}

// contact keeps the contact a batch came with.
func (a *appending) contact(ctx context.Context) error {
	if a.batch.Contact == nil {
		return nil
	}
	c := *a.batch.Contact
	c.Station = a.batch.Station
	return a.s.SaveContact(ctx, c)
}

// SaveContact keeps a contact, where it dates some moment of its boot better
// than those kept, and with it dates what of that boot could not be dated yet.
func (s *Store) SaveContact(ctx context.Context, c Contact) error {
	c.At, c.Boot, c.MonoNS = timeOf(millis(c.At)), clipped(c.Boot), max(c.MonoNS, 0)
	err := s.change(ctx, func(ctx context.Context, ch *change) error {
		kept, err := s.Contacts(ctx, c.Station, c.Boot)
		if err != nil || !better(kept, c) {
			return err
		}
		_, err = ch.exec(ctx, `INSERT INTO contact (station, boot, mono, at, within_ms) VALUES ($1, $2, $3, $4, $5)
			ON CONFLICT (station, boot, mono) DO UPDATE SET at = excluded.at, within_ms = excluded.within_ms`,
			c.Station, c.Boot, c.MonoNS, millis(c.At), c.Within.Milliseconds())
		return err
	})
	for more := true; more && err == nil; {
		more, err = s.dateSome(ctx, c)
	}
	if err != nil {
		return fmt.Errorf("keeping a contact: %w", err)
	}
	return nil
}

// contactsApart is how far apart contacts of a boot are kept, so that a device
// that is online for months has few.
const contactsApart = 15 * time.Minute

func better(kept []Contact, c Contact) bool {
	for _, k := range kept {
		apart := time.Duration(max(c.MonoNS-k.MonoNS, k.MonoNS-c.MonoNS))
		if apart < contactsApart && k.Within <= 2*c.Within+10*time.Millisecond {
			return false
		}
	}
	return true
}

const dateAtOnce = 2000 // entries in one change, so that others need not wait long

// dateSome dates some entries of a contact's boot by it and reports whether
// there are more.
func (s *Store) dateSome(ctx context.Context, c Contact) (more bool, err error) {
	waiting, err := many(ctx, s.reading(ctx), func(r row) (id int64, err error) { return id, r.Scan(&id) }, "the epochs",
		"SELECT id FROM epoch WHERE station = $1 AND boot = $2 AND undated > 0 ORDER BY id", c.Station, c.Boot)
	if err != nil || len(waiting) == 0 {
		return false, err
	}
	err = s.change(ctx, func(ctx context.Context, ch *change) error {
		return ch.dateEpoch(ctx, c, waiting[0])
	})
	return true, err
}

func (c *change) dateEpoch(ctx context.Context, by Contact, epoch int64) error {
	n, err := c.exec(ctx, `UPDATE entry SET dated = 2, at = $1 - ($2 - mono) / 1000000,
		within_ms = $3 + abs($4 - mono) / 1000000 / 10000 WHERE epoch = $5 AND dated = 0 AND seq IN
		(SELECT seq FROM entry WHERE epoch = $6 AND dated = 0 ORDER BY seq LIMIT $7)`,
		millis(by.At), by.MonoNS, by.Within.Milliseconds(), by.MonoNS, epoch, epoch, dateAtOnce)
	if err != nil {
		return err
	}
	left := "undated - $1"
	if n < dateAtOnce {
		left = "0 * $1" // and whatever could not be dated before
	}
	if _, err := c.exec(ctx, "UPDATE epoch SET undated = "+left+", moved = $2 WHERE id = $3", n, c.version, epoch); err != nil {
		return err
	}
	_, err = c.exec(ctx, sessionTimes+" WHERE epoch = $1", epoch)
	return err
}
