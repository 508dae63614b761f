package store

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"

	"evenbell/coach"
	"evenbell/coach/journal"
)

// epochRow is an epoch as Append works on it.
type epochRow struct {
	id       int64
	name     string
	boot     string
	mark     int64
	hash     journal.Hash
	reach    int64 // of the mark and what of the batch was looked at
	contacts []Contact
}

const epochColumns = "station, epoch, mark, hash, boot, previous_epoch, previous_seq, previous_hash, first_at, last_at, moved"

func scanEpoch(r row) (e Epoch, err error) {
	return e, r.Scan(&e.Station, &e.Epoch, &e.Mark, aHash(&e.Hash), &e.Boot, &e.Previous.PreviousEpoch, &e.Previous.PreviousSeq,
		&e.Previous.PreviousHash, aTime(&e.First), aTime(&e.Last), &e.Moved)
}

func aHash(h *journal.Hash) into {
	return func(v any) error {
		text, _ := v.(string)
		got, ok := hashOf(text)
		if !ok {
			return fmt.Errorf("a column holds %q and must hold a hash", text)
		}
		*h = got
		return nil
	}
}

func hashOf(text string) (h journal.Hash, ok bool) {
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != len(h) {
		return h, false
	}
	return journal.Hash(b), true
}

// Mark gives how far one epoch of a station's log has come; ErrNotFound where
// nothing of it is here.
func (s *Store) Mark(ctx context.Context, station int64, epoch string) (Epoch, error) {
	return one(ctx, s.reading(ctx), scanEpoch, "epoch", "SELECT "+epochColumns+" FROM epoch WHERE station = $1 AND epoch = $2", station, epoch)
}

// Epochs gives all epochs of a station, in the order in which they came.
func (s *Store) Epochs(ctx context.Context, station int64) ([]Epoch, error) {
	return many(ctx, s.reading(ctx), scanEpoch, "the epochs", "SELECT "+epochColumns+" FROM epoch WHERE station = $1 ORDER BY id", station)
}

// EndsKnown gives the last numbers of epochs in which a session of a tag has no
// end, as far as a later epoch of the same station knows them.
func (s *Store) EndsKnown(ctx context.Context, tag string) (map[string]int64, error) {
	out := map[string]int64{}
	_, err := many(ctx, s.reading(ctx), func(r row) (epoch string, err error) {
		var last int64
		err = r.Scan(&epoch, &last)
		out[epoch] = last
		return epoch, err
	}, "the ends of epochs", `SELECT n.previous_epoch, n.previous_seq FROM session v JOIN epoch e ON e.id = v.epoch
		JOIN epoch n ON n.station = e.station AND n.previous_epoch = e.epoch WHERE v.tag = $1 AND v.outcome = '' ORDER BY n.id`, tag)
	return out, err
}

// Moved gives the epochs, of all stations, that got entries after the store
// was at that version: what somebody who has seen that version has yet to see.
func (s *Store) Moved(ctx context.Context, since int64) ([]Epoch, error) {
	return many(ctx, s.reading(ctx), scanEpoch, "the epochs", "SELECT "+epochColumns+" FROM epoch WHERE moved > $1 ORDER BY moved, id", since)
}

// epoch gives an epoch of the batch's station. One that is not here yet has
// the mark 0 and no id.
func (a *appending) epoch(ctx context.Context, name string) (*epochRow, error) {
	if e := a.epochs[name]; e != nil {
		return e, nil
	}
	e, err := one(ctx, a.c, func(r row) (*epochRow, error) {
		e := &epochRow{name: name}
		return e, r.Scan(&e.id, &e.boot, &e.mark, aHash(&e.hash))
	}, "epoch", "SELECT id, boot, mark, hash FROM epoch WHERE station = $1 AND epoch = $2", a.batch.Station, name)
	if err != nil && !errors.Is(err, ErrNotFound) {
		return nil, err
	}
	if e.id != 0 {
		if e.contacts, err = a.s.Contacts(ctx, a.batch.Station, e.boot); err != nil {
			return nil, err
		}
	}
	e.reach = e.mark
	a.epochs[name] = e
	return e, nil
}

// begun lays out an epoch that is new, and looks whether it goes on where the
// log before it ended.
func (a *appending) begun(ctx context.Context, e *epochRow, r span) error {
	first := a.heads[r.from]
	if e.id != 0 && (e.boot != "" || first.Boot == "") {
		return nil
	}
	if e.id != 0 { // known so far only by what was lost of it
		return a.onBoot(ctx, e, first.Boot)
	}
	var previous coach.StartData
	if first.Seq == 1 && first.Kind == coach.EntryStart {
		first.data(&previous)
	}
	e.id, e.boot = a.c.id(), first.Boot
	var err error
	if e.contacts, err = a.s.Contacts(ctx, a.batch.Station, e.boot); err != nil {
		return err
	}
	if first.Seq == 1 {
		if err := a.goesOn(ctx, e, first, previous); err != nil {
			return err
		}
	}
	now := millis(a.batch.Received)
	_, err = a.c.exec(ctx, "INSERT INTO epoch (id, "+epochColumns+", undated) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, 0)",
		e.id, a.batch.Station, e.name, 0, e.hash.String(), e.boot, previous.PreviousEpoch, previous.PreviousSeq, previous.PreviousHash, now, now, a.c.version)
	return err
}

// onBoot notes the boot of an epoch.
func (a *appending) onBoot(ctx context.Context, e *epochRow, boot string) error {
	if _, err := a.c.exec(ctx, "UPDATE epoch SET boot = $1 WHERE id = $2", boot, e.id); err != nil {
		return err
	}
	e.boot = boot
	var err error
	e.contacts, err = a.s.Contacts(ctx, a.batch.Station, boot)
	return err
}

// goesOn compares what an epoch's start says of the log before it with what
// is here of that.
func (a *appending) goesOn(ctx context.Context, e *epochRow, first head, says coach.StartData) error {
	at := Break{Position: journal.Position{Epoch: e.name, Seq: 1}}
	if first.Kind != coach.EntryStart {
		at.What = fmt.Sprintf("the epoch begins with a %s entry instead of its start", first.Kind)
		return a.broken(ctx, brk{Break: at})
	}
	if says.PreviousEpoch == "" {
		others, err := a.count(ctx, "SELECT count(*) FROM epoch WHERE station = $1", a.batch.Station)
		if err != nil || others == 0 {
			return err
		}
		at.What = "the log begins anew: what the station wrote before is no longer on it"
		return a.broken(ctx, brk{Break: at})
	}
	forks, err := a.count(ctx, "SELECT count(*) FROM epoch WHERE station = $1 AND previous_epoch = $2", a.batch.Station, says.PreviousEpoch)
	if err != nil {
		return err
	}
	if forks > 0 {
		at.What = fmt.Sprintf("a second log goes on from epoch %s: an older state of the device was put back", says.PreviousEpoch)
		if err := a.broken(ctx, brk{Break: at}); err != nil {
			return err
		}
	}
	return a.follow(ctx, at, says)
}

// follow looks whether the log before ends here as the start says.
func (a *appending) follow(ctx context.Context, at Break, says coach.StartData) error {
	before, err := a.epoch(ctx, says.PreviousEpoch)
	if err != nil {
		return err
	}
	b := brk{Break: at}
	switch {
	case before.mark > says.PreviousSeq:
		b.What = fmt.Sprintf("the station knows epoch %s up to %d and has sent it up to %d: an older state of the device was put back", says.PreviousEpoch, says.PreviousSeq, before.mark)
	case before.mark < says.PreviousSeq:
		b.What = fmt.Sprintf("entries are missing before this: epoch %s went up to %d and is here up to %d", says.PreviousEpoch, says.PreviousSeq, before.mark)
		b.needs = needs{says.PreviousEpoch, says.PreviousSeq, says.PreviousSeq, says.PreviousHash}
	case before.hash.String() != says.PreviousHash:
		b.What = fmt.Sprintf("the chain does not hold here: epoch %s ends otherwise at %d", says.PreviousEpoch, says.PreviousSeq)
	default:
		return nil
	}
	return a.broken(ctx, b)
}

func (a *appending) count(ctx context.Context, query string, args ...any) (n int64, err error) {
	return n, a.c.QueryRowContext(ctx, query, args...).Scan(&n)
}
