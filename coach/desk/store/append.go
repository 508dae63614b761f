package store

import (
	"context"
	"fmt"
	"time"

	"evenbell/coach/journal"
)

// Batch is log records of one station as they came in.
type Batch struct {
	Station int64
	Records []journal.Record // in the order of the log; may run over several epochs
	// Gone is set where the station no longer has what comes before the first
	// record in its epoch: the chain's hash there.
	Gone     *journal.Hash
	Contact  *Contact // of the exchange they came with; nil for none
	Received time.Time
	Carried  bool // by stick
}

// Appended is what a batch did.
type Appended struct {
	// Mark is how far the epoch of the last record has come: every entry up to
	// it is here, or lies in a Break. Whatever else happened, this is what to
	// answer.
	Mark   journal.Position
	Added  []Entry // new ones, in the order of the log, dated as far as possible
	Breaks []Break // new ones
	// Gap says that entries between Mark and what came are missing: nothing of
	// the batch was taken; send again from after Mark, or say that they are
	// Gone.
	Gap bool
	// Refused says why nothing of the batch was taken: a line of it is not the
	// entry it is said to be. A Break stands for it. Empty otherwise.
	Refused string
}

// Append stores what of a batch is new, exactly once, however often and in
// whatever pieces it is sent. It holds numbers and chain to what is here
// already: what does not fit is stored all the same, with a Break that says so,
// and of two lines with one number the second is kept in its Break. Only a
// batch that leaves a gap, and a line that is no entry, are not taken.
//
// What is returned without an error is on the disk.
func (s *Store) Append(ctx context.Context, b Batch) (done Appended, err error) {
	b.Received = timeOf(millis(b.Received))
	heads, bad := readHeads(b.Records)
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		a := appending{s: s, c: c, batch: b, heads: heads, epochs: map[string]*epochRow{}}
		if bad != nil {
			done, err = a.refuse(ctx, bad)
			return err
		}
		done, err = a.all(ctx)
		return err
	})
	if err != nil {
		return Appended{}, fmt.Errorf("taking in the log of station %d: %w", b.Station, err)
	}
	return done, nil
}

// appending is one batch on its way in.
type appending struct {
	s      *Store
	c      *change
	batch  Batch
	heads  []head
	epochs map[string]*epochRow
	done   Appended
}

// refuse notes a line that is no entry, and takes nothing.
func (a *appending) refuse(ctx context.Context, bad *lineFault) (Appended, error) {
	e, err := a.epoch(ctx, bad.Epoch)
	if err != nil {
		return Appended{}, err
	}
	a.done.Refused = bad.detail
	err = a.broken(ctx, brk{Break: Break{Position: bad.Position, What: bad.detail, Line: bad.line}})
	a.done.Mark = journal.Position{Epoch: bad.Epoch, Seq: e.mark}
	return a.done, err
}

// all looks at every run of one epoch first and then writes, so that a batch
// with a gap changes nothing.
func (a *appending) all(ctx context.Context) (Appended, error) {
	if err := a.contact(ctx); err != nil {
		return Appended{}, err
	}
	runs := runsOf(a.batch.Records)
	for i, r := range runs {
		e, err := a.epoch(ctx, a.batch.Records[r.from].Epoch)
		if err != nil {
			return Appended{}, err
		}
		if !a.follows(e, r) && (i > 0 || a.batch.Gone == nil || !a.straight(r)) {
			return Appended{Mark: journal.Position{Epoch: e.name, Seq: e.mark}, Gap: true}, nil
		}
		e.reach = max(e.reach, a.batch.Records[r.to-1].Seq)
	}
	for i, r := range runs {
		if err := a.run(ctx, r, i == 0); err != nil {
			return Appended{}, err
		}
		e := a.epochs[a.batch.Records[r.from].Epoch]
		a.done.Mark = journal.Position{Epoch: e.name, Seq: e.mark}
	}
	return a.done, a.finish(ctx)
}

// follows reports whether a run joins on to what is here or comes before it in
// the batch.
func (a *appending) follows(e *epochRow, r span) bool {
	return a.straight(r) && a.batch.Records[r.from].Seq <= e.reach+1
}

// straight reports whether a run's numbers follow each other.
func (a *appending) straight(r span) bool {
	for i := r.from + 1; i < r.to; i++ {
		if a.batch.Records[i].Seq != a.batch.Records[i-1].Seq+1 {
			return false
		}
	}
	return true
}

// run takes in one run: what is here already is compared, what is new stored.
func (a *appending) run(ctx context.Context, r span, first bool) error {
	e := a.epochs[a.batch.Records[r.from].Epoch]
	if err := a.begun(ctx, e, r); err != nil {
		return err
	}
	at := r.from
	if next := a.batch.Records[at].Seq; next > e.mark+1 && first {
		if err := a.gone(ctx, e, next); err != nil {
			return err
		}
	}
	for at < r.to && a.batch.Records[at].Seq <= e.mark {
		at++
	}
	if at > r.from {
		if err := a.again(ctx, e, span{r.from, at}); err != nil {
			return err
		}
	}
	if at == r.to {
		return nil
	}
	return a.fresh(ctx, e, span{at, r.to})
}

// fresh stores records beyond the mark and moves it.
func (a *appending) fresh(ctx context.Context, e *epochRow, r span) error {
	if err := a.chained(ctx, e, r); err != nil {
		return err
	}
	if err := a.insert(ctx, e, r); err != nil {
		return err
	}
	last := a.batch.Records[r.to-1]
	// The mark moves only from where it was when this batch was looked at:
	// what makes the effect exactly once.
	err := a.c.must(ctx, "the mark of an epoch", ErrChanged,
		"UPDATE epoch SET mark = $1, hash = $2, moved = $3, last_at = $4 WHERE id = $5 AND mark = $6",
		last.Seq, last.Hash.String(), a.c.version, millis(a.batch.Received), e.id, e.mark)
	if err != nil {
		return err
	}
	e.mark, e.hash = last.Seq, last.Hash
	return nil
}

// chained looks whether each line follows from the one before. Where one does
// not, the chain is followed on from what that line says of itself.
func (a *appending) chained(ctx context.Context, e *epochRow, r span) error {
	hash := e.hash
	for i := r.from; i < r.to; i++ {
		record := a.batch.Records[i]
		if want := hash.Next(record.Line); want != record.Hash {
			what := "the chain does not hold here: this entry or one before it was changed"
			if err := a.broken(ctx, brk{Break: Break{Position: record.Position, What: what}}); err != nil {
				return err
			}
		}
		hash = record.Hash
	}
	return nil
}
