package store

import (
	"context"
	"fmt"
	"time"

	"evenbell/coach/journal"
)

// Lose notes that a station no longer has anything of an epoch up to and
// including last, where the chain's hash is hash, and has nothing after it to
// send. What is missing here becomes a Break, and the mark moves to last.
func (s *Store) Lose(ctx context.Context, station int64, last journal.Position, hash journal.Hash, received time.Time) (done Appended, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		a := appending{s: s, c: c, batch: Batch{Station: station, Gone: &hash, Received: timeOf(millis(received))}, epochs: map[string]*epochRow{}}
		e, err := a.epoch(ctx, last.Epoch)
		if err != nil {
			return err
		}
		if last.Seq > e.mark {
			err = a.lose(ctx, e, last.Seq, hash)
		}
		done = a.done
		done.Mark = journal.Position{Epoch: last.Epoch, Seq: e.mark}
		return err
	})
	if err != nil {
		return Appended{}, fmt.Errorf("noting what station %d has lost: %w", station, err)
	}
	return done, nil
}

func (a *appending) lose(ctx context.Context, e *epochRow, last int64, hash journal.Hash) error {
	if e.id == 0 { // nothing of it ever came
		e.id = a.c.id()
		now := millis(a.batch.Received)
		_, err := a.c.exec(ctx, "INSERT INTO epoch (id, "+epochColumns+", undated) VALUES ($1, $2, $3, 0, $4, '', '', 0, '', $5, $6, $7, 0)",
			e.id, a.batch.Station, e.name, e.hash.String(), now, now, a.c.version)
		if err != nil {
			return err
		}
	}
	if err := a.gone(ctx, e, last+1); err != nil {
		return err
	}
	_, err := a.c.exec(ctx, "UPDATE epoch SET hash = $1, moved = $2 WHERE id = $3", hash.String(), a.c.version, e.id)
	return err
}
