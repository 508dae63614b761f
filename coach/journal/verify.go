package journal

import (
	"fmt"

	"evenbell/coach"
)

// Report is what a verified log holds.
type Report struct {
	Epochs  int
	Entries int             // kept; acknowledged ones may have been deleted
	Head    Position        // the newest entry
	Follows coach.StartData // what the first epoch says came before this log; zero for nothing
}

// Verify looks at everything: SQLite's own structure, every checksum, every
// number, the chain within and across epochs, and the mark. The first thing
// found wrong is returned as a *[CorruptError]. It sees the log as it is at
// one moment, however much is appended meanwhile.
func (r *Reader) Verify() (Report, error) {
	m, err := findMark(r.dir) // first: it is never ahead of what is read after it
	if err != nil {
		return Report{}, err
	}
	var rep Report
	err = r.store.atOneMoment(func() error {
		rep, err = r.verify(m)
		return err
	})
	return rep, err
}

// Verify looks at everything through a reader of its own, so that Append
// need not wait for it.
func (j *Journal) Verify() (Report, error) {
	r, err := OpenReader(j.dir)
	if err != nil {
		return Report{}, err
	}
	defer r.Close()
	return r.Verify()
}

func (r *Reader) verify(m *head) (Report, error) {
	if err := r.store.integrity(); err != nil {
		return Report{}, err
	}
	epochs, err := r.store.epochs()
	if err != nil {
		return Report{}, err
	}
	rep := Report{Epochs: len(epochs)}
	var last head
	for i, of := range epochs {
		h, n, first, err := r.verifyEpoch(of)
		if err != nil {
			return Report{}, err
		}
		if first != nil { // else its start is deleted
			if i == 0 {
				rep.Follows = *first
			} else if err := follows(of.epoch, *first, last); err != nil {
				return Report{}, err
			}
		}
		rep.Entries, rep.Head, last = rep.Entries+n, h.Position, h
	}
	if err := r.strays(rep.Entries); err != nil {
		return Report{}, err
	}
	return rep, r.store.reaches(m)
}

// verifyEpoch gives where an epoch ends, how many entries it keeps, and what
// its start entry says, nil where that is deleted.
func (r *Reader) verifyEpoch(of epochRow) (head, int, *coach.StartData, error) {
	at := head{Position{of.epoch, of.kept - 1}, of.before}
	var first *coach.StartData
	n := 0
	for {
		batch, err := r.store.records(of, at.Seq, 500)
		if err != nil {
			return head{}, 0, nil, err
		}
		for _, rec := range batch {
			e, err := verifyRecord(rec, at)
			if err != nil {
				return head{}, 0, nil, err
			}
			if rec.Seq == 1 {
				first = e.Data.(*coach.StartData)
			}
			at = head{rec.Position, rec.Hash}
			n++
		}
		if len(batch) == 0 {
			return at, n, first, nil
		}
	}
}

func verifyRecord(rec Record, before head) (coach.Entry, error) {
	if rec.Seq != before.Seq+1 {
		return coach.Entry{}, &CorruptError{Position: Position{rec.Epoch, before.Seq + 1}, Damage: MissingEntry}
	}
	if before.hash.Next(rec.Line) != rec.Hash {
		return coach.Entry{}, &CorruptError{Position: rec.Position, Damage: BrokenChain}
	}
	e, err := rec.Entry()
	if err != nil {
		return e, &CorruptError{Position: rec.Position, Damage: DamagedForm, Detail: err.Error()}
	}
	if e.Epoch != rec.Epoch || e.Seq != rec.Seq {
		return e, &CorruptError{Position: rec.Position, Damage: DamagedForm, Detail: fmt.Sprintf("it says that it is %s %d", e.Epoch, e.Seq)}
	}
	if _, start := e.Data.(*coach.StartData); start != (e.Seq == 1) {
		return e, &CorruptError{Position: rec.Position, Damage: DamagedForm, Detail: "a start is the first entry of an epoch, and nothing else is"}
	}
	return e, nil
}

// follows checks that an epoch's start names where the one before it ended.
func follows(epoch string, says coach.StartData, last head) error {
	if says.Gap = nil; says == last.startData() {
		return nil
	}
	return &CorruptError{Position: Position{epoch, 1}, Damage: BrokenEpoch,
		Detail: fmt.Sprintf("it names %s %d, and the log has %s %d before it", says.PreviousEpoch, says.PreviousSeq, last.Epoch, last.Seq)}
}

// startData is how the next epoch's start names h.
func (h head) startData() coach.StartData {
	if h.Epoch == "" {
		return coach.StartData{}
	}
	return coach.StartData{PreviousEpoch: h.Epoch, PreviousSeq: h.Seq, PreviousHash: h.hash.String()}
}

// strays looks for entries that belong to no epoch.
func (r *Reader) strays(counted int) error {
	var rows int
	if err := r.store.db.QueryRow("SELECT count(*) FROM entry").Scan(&rows); err != nil {
		return fmt.Errorf("counting the entries: %w", corrupt(err))
	}
	if rows != counted {
		return &CorruptError{Damage: DamagedFile, Detail: fmt.Sprintf("%d entries, of which %d belong to an epoch", rows, counted)}
	}
	return nil
}

// reaches makes sure that the log has come at least as far as its mark; nil
// is no mark.
func (s *store) reaches(m *head) error {
	if m == nil {
		return nil
	}
	epochs, err := s.epochs()
	if err != nil {
		return err
	}
	for _, of := range epochs {
		if of.epoch != m.Epoch {
			continue
		}
		h, err := s.head(of)
		if err != nil {
			return err
		}
		if h.Seq < m.Seq {
			return &CorruptError{Position: m.Position, Damage: LostTail, Detail: fmt.Sprintf("the log ends at %d", h.Seq)}
		}
		return nil
	}
	return s.marksWhatCameBefore(*m, epochs)
}

// marksWhatCameBefore allows a mark that names what this log follows: it was
// begun after another was set aside, and the power was cut before its own
// first mark.
func (s *store) marksWhatCameBefore(m head, epochs []epochRow) error {
	lost := &CorruptError{Position: m.Position, Damage: LostTail, Detail: "the log does not know this epoch"}
	if len(epochs) == 0 {
		return lost
	}
	first, err := s.records(epochs[0], 0, 1)
	if err != nil {
		return err
	}
	if len(first) == 1 {
		if e, err := first[0].Entry(); err == nil {
			if d, ok := e.Data.(*coach.StartData); ok && follows(e.Epoch, *d, m) == nil {
				return nil
			}
		}
	}
	return lost
}
