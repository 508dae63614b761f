package journal

import (
	"database/sql"
	"errors"
	"fmt"
)

// Stretch is the next piece of one epoch that the desk lacks.
type Stretch struct {
	Position      // of what comes before the first record; no Epoch where the desk lacks nothing
	Before   Hash // of the chain there
	// Gone is true where the desk also lacks entries before it which were
	// deleted here: they had been acknowledged, and the desk has lost them.
	Gone    bool
	Records []Record // may be empty only where Gone
}

// Unsent gives the oldest stretch, of up to limit entries of one epoch, that
// the desk has not said it has.
func (r *Reader) Unsent(limit int) (Stretch, error) {
	row, ok, err := r.store.oldestUnsent()
	if err != nil || !ok {
		return Stretch{}, err
	}
	return r.stretch(row, limit)
}

// UnsentAfter is Unsent as it will be once the desk has said that it has
// everything up to a position: a way to go through all that is unsent without
// noting anything. The zero Position is before everything.
func (r *Reader) UnsentAfter(p Position, limit int) (Stretch, error) {
	epochs, err := r.store.epochs()
	if err != nil {
		return Stretch{}, err
	}
	if epochs, err = from(epochs, p.Epoch); err != nil {
		return Stretch{}, err
	}
	for _, row := range epochs {
		if row.epoch == p.Epoch {
			row.acked = max(row.acked, p.Seq)
		}
		s, err := r.stretch(row, limit)
		if err != nil || s.Gone || len(s.Records) > 0 {
			return s, err
		}
	}
	return Stretch{}, nil
}

// stretch is what comes after what is acknowledged of an epoch.
func (r *Reader) stretch(row epochRow, limit int) (Stretch, error) {
	s := Stretch{Position: Position{row.epoch, max(row.acked, row.kept-1)}, Gone: row.acked < row.kept-1}
	var err error
	if s.Before, err = r.store.hashAt(row, s.Seq); err != nil {
		return Stretch{}, err
	}
	s.Records, err = r.store.records(row, s.Seq, limit)
	return s, err
}

// CountUnsent is how many entries the desk has not said it has.
func (r *Reader) CountUnsent() (int64, error) {
	var n int64
	err := r.store.db.QueryRow(`SELECT coalesce(sum((SELECT count(*) FROM entry WHERE entry.ordinal = epoch.ordinal AND seq > acked)), 0) FROM epoch`).Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("counting what was not sent: %w", corrupt(err))
	}
	return n, nil
}

// Acknowledged gives, for every epoch in order, the number up to which the
// desk has said that it has them.
func (r *Reader) Acknowledged() ([]Position, error) {
	epochs, err := r.store.epochs()
	if err != nil {
		return nil, err
	}
	out := make([]Position, len(epochs))
	for i, e := range epochs {
		out[i] = Position{e.epoch, e.acked}
	}
	return out, nil
}

// Rewind takes back, durably, what was noted of the desk: it has the entries
// of an epoch up to p and no more, because it was put back from an older
// backup. What is still here is unsent again. It never notes more than was.
func (j *Journal) Rewind(p Position) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if err := j.usable(); err != nil {
		return err
	}
	row, err := j.store.epochNamed(p.Epoch)
	if err == nil && p.Seq < 0 {
		err = errors.New("entries are numbered from 1")
	}
	if err != nil {
		return fmt.Errorf("rewinding to %q %d: %w", p.Epoch, p.Seq, err)
	}
	if p.Seq >= row.acked {
		return nil
	}
	row.acked = p.Seq
	if err := j.store.within(row.write); err != nil {
		return j.fail(err)
	}
	return nil
}

// oldestUnsent is the first epoch of which the desk lacks something.
func (s *store) oldestUnsent() (epochRow, bool, error) {
	var ordinal int64
	err := s.db.QueryRow(`SELECT ordinal FROM epoch WHERE acked < kept - 1
		OR EXISTS (SELECT 1 FROM entry WHERE entry.ordinal = epoch.ordinal AND seq > acked) ORDER BY ordinal LIMIT 1`).Scan(&ordinal)
	if errors.Is(err, sql.ErrNoRows) {
		return epochRow{}, false, nil
	}
	if err != nil {
		return epochRow{}, false, fmt.Errorf("reading the epochs: %w", corrupt(err))
	}
	epochs, err := s.epochs()
	if err != nil {
		return epochRow{}, false, err
	}
	for _, e := range epochs {
		if e.ordinal == ordinal {
			return e, true, nil
		}
	}
	return epochRow{}, false, &CorruptError{Damage: BrokenEpoch, Detail: fmt.Sprintf("number %d is gone", ordinal)}
}

// hashAt is the chain's hash after an entry that is kept, or after the last
// that is not.
func (s *store) hashAt(of epochRow, seq int64) (Hash, error) {
	if seq == of.kept-1 {
		return of.before, nil
	}
	last, err := s.records(of, seq-1, 1)
	if err != nil {
		return Hash{}, err
	}
	if len(last) == 0 || last[0].Seq != seq {
		return Hash{}, &CorruptError{Position: Position{of.epoch, seq}, Damage: MissingEntry}
	}
	return last[0].Hash, nil
}
