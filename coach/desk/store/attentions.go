package store

import (
	"context"
	"errors"
	"fmt"
	"time"
)

const attentionColumns = `id, reason, station, tag, session, symptom, epoch, seq, raised, within_ms, delivered, shown,
	acknowledged, acknowledged_by, going, going_by, told, closed, closed_by, done, ended`

func scanAttention(r row) (a Attention, err error) {
	return a, r.Scan(&a.ID, &a.Reason, &a.Station, &a.Tag, &a.Session, &a.Symptom, &a.Entry.Epoch, &a.Entry.Seq,
		aTime(&a.Raised), aSpan(&a.Within), aTime(&a.Delivered), aStep(&a.Shown), aStep(&a.Acknowledged), &a.AcknowledgedBy,
		aStep(&a.Going), &a.GoingBy, aStep(&a.Told), aStep(&a.Closed), &a.ClosedBy, &a.Done, &a.Ended)
}

// RaiseAttention raises an attention that has no step behind it yet. One that
// names an entry is raised once: where it was raised before, that one is given
// and raised is false.
func (s *Store) RaiseAttention(ctx context.Context, a Attention) (given Attention, raised bool, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		if a.Entry.Epoch != "" {
			given, err = s.attentionOf(ctx, a)
			if !errors.Is(err, ErrNotFound) {
				return err
			}
		}
		a.ID, raised = c.id(), true
		given = Attention{ID: a.ID, Reason: a.Reason, Station: a.Station, Tag: a.Tag, Session: a.Session, Symptom: a.Symptom,
			Entry: a.Entry, Raised: timeOf(millis(a.Raised)), Within: a.Within, Delivered: timeOf(millis(a.Delivered))}
		_, err := c.exec(ctx, `INSERT INTO attention (id, reason, station, tag, session, symptom, epoch, seq, raised, within_ms, delivered,
			acknowledged_by, going_by, closed_by, done, ended) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, '', '', '', '', '')`,
			a.ID, string(a.Reason), a.Station, a.Tag, a.Session, a.Symptom, a.Entry.Epoch, a.Entry.Seq, millis(a.Raised), a.Within.Milliseconds(), millis(a.Delivered))
		return err
	})
	return given, raised, err
}

func (s *Store) attentionOf(ctx context.Context, a Attention) (Attention, error) {
	return one(ctx, s.reading(ctx), scanAttention, "attention",
		"SELECT "+attentionColumns+" FROM attention WHERE station = $1 AND epoch = $2 AND seq = $3 AND epoch <> ''", a.Station, a.Entry.Epoch, a.Entry.Seq)
}

// Attention gives an attention.
func (s *Store) Attention(ctx context.Context, id int64) (Attention, error) {
	return one(ctx, s.reading(ctx), scanAttention, "attention", "SELECT "+attentionColumns+" FROM attention WHERE id = $1", id)
}

// OpenAttentions gives what has not been closed, oldest first.
func (s *Store) OpenAttentions(ctx context.Context) ([]Attention, error) {
	return many(ctx, s.reading(ctx), scanAttention, "the attentions",
		"SELECT "+attentionColumns+" FROM attention WHERE closed IS NULL ORDER BY raised, id")
}

// AttentionFilter chooses attentions; a zero field chooses all.
type AttentionFilter struct {
	Tag, Session string
	Station      int64
	Since, Until time.Time // of Raised: from, and before
}

// Attentions gives attentions, oldest first, closed ones too.
func (s *Store) Attentions(ctx context.Context, f AttentionFilter) ([]Attention, error) {
	var w where
	w.equal("tag", f.Tag)
	w.equal("session", f.Session)
	w.of("station", f.Station)
	w.between("raised", f.Since, f.Until)
	return many(ctx, s.reading(ctx), scanAttention, "the attentions",
		"SELECT "+attentionColumns+" FROM attention"+w.clause()+" ORDER BY raised, id", w.args...)
}

// AttentionShown notes when it was first on a page. As with every step, the
// first time stays, and the attention is given as it then stands.
func (s *Store) AttentionShown(ctx context.Context, id int64, at time.Time) (Attention, error) {
	return s.step(ctx, id, "shown = $1 WHERE shown IS NULL AND id = $2", millis(at), id)
}

// AcknowledgeAttention notes who first saw to it, and when.
func (s *Store) AcknowledgeAttention(ctx context.Context, id int64, by string, at time.Time) (Attention, error) {
	return s.step(ctx, id, "acknowledged = $1, acknowledged_by = $2 WHERE acknowledged IS NULL AND id = $3", millis(at), by, id)
}

// AttentionGoing notes who is on the way, and since when.
func (s *Store) AttentionGoing(ctx context.Context, id int64, by string, at time.Time) (Attention, error) {
	return s.step(ctx, id, "going = $1, going_by = $2 WHERE going IS NULL AND id = $3", millis(at), by, id)
}

// AttentionTold notes when the station said that help is coming.
func (s *Store) AttentionTold(ctx context.Context, id int64, at time.Time) (Attention, error) {
	return s.step(ctx, id, "told = $1 WHERE told IS NULL AND id = $2", millis(at), id)
}

// AttentionSymptom notes the symptom that was named after a stop.
func (s *Store) AttentionSymptom(ctx context.Context, id int64, symptom string) (Attention, error) {
	return s.step(ctx, id, "symptom = $1 WHERE symptom = '' AND id = $2", symptom, id)
}

// AttentionRaisedAt replaces the time it was raised by one that is known
// better.
func (s *Store) AttentionRaisedAt(ctx context.Context, id int64, at time.Time, within time.Duration) (Attention, error) {
	return s.step(ctx, id, "raised = $1, within_ms = $2 WHERE id = $3", millis(at), within.Milliseconds(), id)
}

// CloseAttention ends it, with what was done and how it ended; ErrState while
// nobody has acknowledged it.
func (s *Store) CloseAttention(ctx context.Context, id int64, by string, at time.Time, done, ended string) (a Attention, err error) {
	err = s.Together(ctx, func(ctx context.Context) error {
		if a, err = s.Attention(ctx, id); err != nil {
			return err
		}
		if a.Acknowledged == nil {
			return fmt.Errorf("an attention that nobody has acknowledged: %w", ErrState)
		}
		a, err = s.step(ctx, id, "closed = $1, closed_by = $2, done = $3, ended = $4 WHERE closed IS NULL AND id = $5", millis(at), by, done, ended, id)
		return err
	})
	return a, err
}

func (s *Store) step(ctx context.Context, id int64, set string, args ...any) (a Attention, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		if _, err := c.exec(ctx, "UPDATE attention SET "+set, args...); err != nil {
			return err
		}
		a, err = s.Attention(ctx, id)
		return err
	})
	return a, err
}

const holdColumns = "id, tag, attention, reason, since, cleared, cleared_by, note"

func scanHold(r row) (h Hold, err error) {
	return h, r.Scan(&h.ID, &h.Tag, &h.Attention, &h.Reason, aTime(&h.Since), aStep(&h.Cleared), &h.ClearedBy, &h.Note)
}

// AddHold holds a tag. There is one hold for a tag and an attention, cleared or
// not: where it stands already, that one is given.
func (s *Store) AddHold(ctx context.Context, h Hold) (given Hold, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		given, err = one(ctx, c, scanHold, "hold", "SELECT "+holdColumns+" FROM hold WHERE tag = $1 AND attention = $2", h.Tag, h.Attention)
		if !errors.Is(err, ErrNotFound) {
			return err
		}
		given = Hold{ID: c.id(), Tag: h.Tag, Attention: h.Attention, Reason: h.Reason, Since: timeOf(millis(h.Since)), Note: h.Note}
		_, err := c.exec(ctx, "INSERT INTO hold (id, tag, attention, reason, since, cleared_by, note) VALUES ($1, $2, $3, $4, $5, '', $6)",
			given.ID, h.Tag, h.Attention, string(h.Reason), millis(h.Since), h.Note)
		return err
	})
	return given, err
}

// Hold gives a hold.
func (s *Store) Hold(ctx context.Context, id int64) (Hold, error) {
	return one(ctx, s.reading(ctx), scanHold, "hold", "SELECT "+holdColumns+" FROM hold WHERE id = $1", id)
}

// ClearHold clears a hold, once: the first who cleared it stays, and the hold
// is given as it then stands.
func (s *Store) ClearHold(ctx context.Context, id int64, by, note string, at time.Time) (h Hold, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		if _, err := c.exec(ctx, "UPDATE hold SET cleared = $1, cleared_by = $2, note = $3 WHERE cleared IS NULL AND id = $4", millis(at), by, note, id); err != nil {
			return err
		}
		h, err = s.Hold(ctx, id)
		return err
	})
	return h, err
}

// OpenHolds gives what holds tags now, oldest first.
func (s *Store) OpenHolds(ctx context.Context) ([]Hold, error) {
	return many(ctx, s.reading(ctx), scanHold, "the holds", "SELECT "+holdColumns+" FROM hold WHERE cleared IS NULL ORDER BY since, id")
}

// HoldsOf gives all holds of a tag, newest first.
func (s *Store) HoldsOf(ctx context.Context, tag string) ([]Hold, error) {
	return many(ctx, s.reading(ctx), scanHold, "the holds", "SELECT "+holdColumns+" FROM hold WHERE tag = $1 ORDER BY since DESC, id DESC", tag)
}
