package journal

import (
	"database/sql"
	"errors"
	"fmt"
)

// epochRow is a row of the table of epochs.
type epochRow struct {
	ordinal     int64
	epoch       string
	acked, kept int64
	before      Hash
}

func (r epochRow) crc() uint32 {
	return checksum(number(r.ordinal), []byte(r.epoch), number(r.acked), number(r.kept), r.before[:])
}

func (r epochRow) write(tx *sql.Tx) error {
	_, err := tx.Exec("INSERT INTO epoch VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (ordinal) DO UPDATE SET acked = excluded.acked, kept = excluded.kept, before = excluded.before, crc = excluded.crc",
		r.ordinal, r.epoch, r.acked, r.kept, r.before[:], r.crc())
	return err
}

// epochs gives all rows in order, each checked.
func (s *store) epochs() ([]epochRow, error) {
	rows, err := s.db.Query("SELECT ordinal, epoch, acked, kept, before, crc FROM epoch ORDER BY ordinal")
	if err != nil {
		return nil, fmt.Errorf("reading the epochs: %w", corrupt(err))
	}
	defer rows.Close()
	var out []epochRow
	for rows.Next() {
		var r epochRow
		var before []byte
		var crc int64
		if err := rows.Scan(&r.ordinal, &r.epoch, &r.acked, &r.kept, &before, &crc); err != nil {
			return nil, &CorruptError{Damage: DamagedFile, Detail: err.Error()}
		}
		copy(r.before[:], before)
		if int64(r.crc()) != crc || len(before) != len(r.before) {
			return nil, &CorruptError{Position: Position{Epoch: r.epoch}, Damage: DamagedRow}
		}
		if r.ordinal != int64(len(out))+1 {
			return nil, &CorruptError{Position: Position{Epoch: r.epoch}, Damage: BrokenEpoch, Detail: fmt.Sprintf("it is number %d where %d comes next", r.ordinal, len(out)+1)}
		}
		out = append(out, r)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("reading the epochs: %w", corrupt(err))
	}
	return out, nil
}

// records gives up to limit entries of one epoch that come after seq, each
// with its checksum looked at. An epoch is read in its own order, so there is
// one place where damage can hide: the end.
func (s *store) records(of epochRow, seq int64, limit int) ([]Record, error) {
	rows, err := s.db.Query("SELECT seq, line, hash, crc FROM entry WHERE ordinal = ? AND seq > ? ORDER BY seq LIMIT ?", of.ordinal, seq, limit)
	if err != nil {
		return nil, fmt.Errorf("reading the log: %w", corrupt(err))
	}
	defer rows.Close()
	var out []Record
	for rows.Next() {
		r := Record{Position: Position{Epoch: of.epoch}}
		if err := scanRecord(rows, &r); err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("reading the log: %w", corrupt(err))
	}
	return out, nil
}

func scanRecord(row interface{ Scan(...any) error }, r *Record) error {
	var hash []byte
	var crc int64
	if err := row.Scan(&r.Seq, &r.Line, &hash, &crc); err != nil {
		if errors.Is(err, sql.ErrNoRows) {
			return err
		}
		return &CorruptError{Position: r.Position, Damage: DamagedFile, Detail: err.Error()}
	}
	copy(r.Hash[:], hash)
	if int64(r.crc()) != crc || len(hash) != len(r.Hash) {
		return &CorruptError{Position: r.Position, Damage: DamagedRow}
	}
	return nil
}

// head is how far an epoch has come.
func (s *store) head(of epochRow) (head, error) {
	r := Record{Position: Position{Epoch: of.epoch}}
	err := scanRecord(s.db.QueryRow("SELECT seq, line, hash, crc FROM entry WHERE ordinal = ? ORDER BY seq DESC LIMIT 1", of.ordinal), &r)
	if errors.Is(err, sql.ErrNoRows) {
		return head{Position{of.epoch, of.kept - 1}, of.before}, nil
	}
	return head{r.Position, r.Hash}, err
}

func insertRecord(tx *sql.Tx, ordinal int64, r Record) error {
	_, err := tx.Exec("INSERT INTO entry VALUES (?, ?, ?, ?, ?)", ordinal, r.Seq, r.Line, r.Hash[:], r.crc())
	return err
}
