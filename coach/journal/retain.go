package journal

import (
	"database/sql"
	"errors"
	"fmt"

	"evenbell/coach"
)

const pruneAtOnce = 5000 // entries: about half a second on a slow card

// Acknowledge notes, durably, that the desk has all entries of an epoch up to
// p. Only then may they be deleted. What is already noted is never taken back.
func (j *Journal) Acknowledge(p Position) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if err := j.usable(); err != nil {
		return err
	}
	row, err := j.store.epochNamed(p.Epoch)
	if err != nil {
		return fmt.Errorf("acknowledging %q %d: %w", p.Epoch, p.Seq, err)
	}
	h, err := j.store.head(row)
	if err != nil {
		return err
	}
	if p.Seq > h.Seq {
		return fmt.Errorf("acknowledging %s %d: the epoch ends at %d", p.Epoch, p.Seq, h.Seq)
	}
	if p.Seq <= row.acked {
		return nil
	}
	row.acked = p.Seq
	if err := j.store.within(row.write); err != nil {
		return j.fail(err)
	}
	return nil
}

// Prune deletes acknowledged entries, oldest first and no further than the
// first that is not acknowledged or that must stay, and always leaves the
// newest keep entries. stays may be nil: it says of an entry that it and all
// after it must stay. It deletes a bounded number at once and returns how
// many, so it is called again, between sessions, until it returns 0.
func (j *Journal) Prune(keep int, stays func(coach.Entry) bool) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if err := j.usable(); err != nil {
		return 0, err
	}
	cuts, n, err := j.prunable(keep, stays)
	if err != nil || n == 0 {
		return 0, err
	}
	err = j.store.within(func(tx *sql.Tx) error {
		for _, row := range cuts {
			if _, err := tx.Exec("DELETE FROM entry WHERE ordinal = ? AND seq < ?", row.ordinal, row.kept); err != nil {
				return err
			}
			if err := row.write(tx); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return 0, j.fail(err)
	}
	return n, nil
}

// prunable is the epochs' rows as they are after deleting, and how many
// entries go.
func (j *Journal) prunable(keep int, stays func(coach.Entry) bool) ([]epochRow, int, error) {
	epochs, err := j.store.epochs()
	if err != nil {
		return nil, 0, err
	}
	var total int
	if err := j.store.db.QueryRow("SELECT count(*) FROM entry").Scan(&total); err != nil {
		return nil, 0, fmt.Errorf("counting the entries: %w", corrupt(err))
	}
	left, n := min(total-keep, pruneAtOnce), 0
	var cuts []epochRow
	for _, row := range epochs {
		h, err := j.store.head(row)
		if err != nil {
			return nil, 0, err
		}
		cut, err := j.goes(row, min(row.acked-row.kept+1, int64(left-n)), stays)
		if err != nil {
			return nil, 0, err
		}
		if cut > 0 {
			if row, err = j.cutTo(row, row.kept+cut); err != nil {
				return nil, 0, err
			}
			cuts, n = append(cuts, row), n+int(cut)
		}
		if row.kept <= h.Seq {
			break // something of this epoch stays, so all after it stays
		}
	}
	return cuts, n, nil
}

// goes is how many of an epoch's oldest entries, up to most, need not stay.
func (j *Journal) goes(row epochRow, most int64, stays func(coach.Entry) bool) (int64, error) {
	if stays == nil || most <= 0 {
		return most, nil
	}
	oldest, err := j.store.records(row, row.kept-1, int(most))
	if err != nil {
		return 0, err
	}
	for i, r := range oldest {
		e, err := r.Entry()
		if err != nil {
			return 0, &CorruptError{Position: r.Position, Damage: DamagedForm, Detail: err.Error()}
		}
		if stays(e) {
			return int64(i), nil
		}
	}
	return int64(len(oldest)), nil
}

// cutTo is the row with everything before seq deleted.
func (j *Journal) cutTo(row epochRow, seq int64) (epochRow, error) {
	last, err := j.store.records(row, seq-2, 1)
	if err != nil {
		return row, err
	}
	if len(last) == 0 || last[0].Seq != seq-1 {
		return row, &CorruptError{Position: Position{row.epoch, seq - 1}, Damage: MissingEntry}
	}
	row.kept, row.before = seq, last[0].Hash
	return row, nil
}

// epochNamed is an epoch's row.
func (s *store) epochNamed(name string) (epochRow, error) {
	epochs, err := s.epochs()
	if err != nil {
		return epochRow{}, err
	}
	if rest, err := from(epochs, name); err == nil && name != "" {
		return rest[0], nil
	}
	return epochRow{}, errors.New("this log has no such epoch")
}
