package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
)

const (
	fileName      = "journal.db"
	applicationID = 0x6a6e6c31 // marks the file as a journal, version 1
)

// The tables as SQLite keeps their text; a log whose text differs is damaged.
const (
	epochTable = `CREATE TABLE epoch (ordinal INTEGER PRIMARY KEY, epoch TEXT NOT NULL, acked INTEGER NOT NULL, kept INTEGER NOT NULL, before BLOB NOT NULL, crc INTEGER NOT NULL) STRICT`
	entryTable = `CREATE TABLE entry (ordinal INTEGER NOT NULL, seq INTEGER NOT NULL, line BLOB NOT NULL, hash BLOB NOT NULL, crc INTEGER NOT NULL, PRIMARY KEY (ordinal, seq)) STRICT, WITHOUT ROWID`
)

// store is the SQLite file: rows in and out, nothing decided.
type store struct{ db *sql.DB }

// openStore opens the file through one connection. mode is SQLite's: "ro",
// which leaves a log found damaged as it was found, or "rwc".
func openStore(dir, mode, synchronous string) (*store, error) {
	path, err := filepath.Abs(filepath.Join(dir, fileName))
	if err != nil {
		return nil, fmt.Errorf("opening the log: %w", err)
	}
	query := url.Values{"mode": {mode}, "psow": {"0"}, "_txlock": {"immediate"}, "_pragma": {"busy_timeout(5000)", "cell_size_check(1)"}}
	if mode != "ro" {
		query["_pragma"] = append(query["_pragma"], "journal_mode(wal)", "synchronous("+synchronous+")", "wal_autocheckpoint(0)")
	}
	name := url.URL{Scheme: "file", Path: path, RawQuery: query.Encode()}
	db, err := sql.Open("sqlite", name.String())
	if err != nil {
		return nil, fmt.Errorf("opening the log: %w", err)
	}
	db.SetMaxOpenConns(1)
	if err := db.Ping(); err != nil {
		return nil, errors.Join(fmt.Errorf("opening the log: %w", corrupt(err)), db.Close())
	}
	return &store{db}, nil
}

// assertPragmas makes sure that what durability rests on was taken.
func (s *store) assertPragmas(synchronous string) error {
	level := map[string]string{"NORMAL": "1", "FULL": "2"}[synchronous]
	for _, want := range []struct{ pragma, value string }{
		{"journal_mode", "wal"}, {"synchronous", level}, {"wal_autocheckpoint", "0"},
	} {
		var got string
		if err := s.db.QueryRow("PRAGMA " + want.pragma).Scan(&got); err != nil {
			return fmt.Errorf("asking for %s: %w", want.pragma, err)
		}
		if got != want.value {
			return fmt.Errorf("%s is %s and must be %s: this log would not be durable here", want.pragma, got, want.value)
		}
	}
	return nil
}

// begun reports whether the tables are there. It refuses a file that is
// something else, and one whose tables are not quite these.
func (s *store) begun() (bool, error) {
	var id, schema, tables int
	var sqls sql.NullString
	err := s.db.QueryRow(`SELECT (SELECT application_id FROM pragma_application_id), (SELECT schema_version FROM pragma_schema_version),
		count(*), group_concat(sql, ';' ORDER BY name) FROM sqlite_schema`).Scan(&id, &schema, &tables, &sqls)
	switch {
	case err != nil:
		return false, fmt.Errorf("reading the log's tables: %w", corrupt(err))
	case tables == 0 && id == 0:
		return false, nil // as an open that a power cut broke off leaves it
	case id != applicationID:
		return false, &CorruptError{Damage: DamagedFile, Detail: fmt.Sprintf("application id %#x, and a journal's is %#x", id, applicationID)}
	case sqls.String != entryTable+";"+epochTable:
		return false, &CorruptError{Damage: DamagedFile, Detail: "the tables are not a journal's"}
	}
	return true, nil
}

// within runs work in one transaction, durable when it returns nil.
func (s *store) within(work func(*sql.Tx) error) error {
	tx, err := s.db.BeginTx(context.Background(), nil)
	if err != nil {
		return err
	}
	if err := work(tx); err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}

// atOneMoment runs reading on the log as it is now: its one connection sees
// nothing that is committed meanwhile.
func (s *store) atOneMoment(reading func() error) error {
	if _, err := s.db.Exec("BEGIN DEFERRED"); err != nil {
		return corrupt(err)
	}
	err := reading()
	if _, end := s.db.Exec("COMMIT"); err == nil {
		err = corrupt(end)
	}
	return err
}

// createTables lays out an empty log.
func createTables(tx *sql.Tx) error {
	for _, q := range []string{epochTable, entryTable, fmt.Sprintf("PRAGMA application_id = %d", applicationID)} {
		if _, err := tx.Exec(q); err != nil {
			return fmt.Errorf("laying out the log: %w", err)
		}
	}
	return nil
}

// checkpoint moves what the log has committed into the file itself, and does
// not keep a failed fsync to itself. A reader in its way is no failure.
func (s *store) checkpoint(how string) error {
	var busy, inLog, moved int
	if err := s.db.QueryRow("PRAGMA wal_checkpoint("+how+")").Scan(&busy, &inLog, &moved); err != nil {
		return fmt.Errorf("checkpointing the log: %w", corrupt(err))
	}
	return nil
}

// integrity asks SQLite to look over the whole file.
func (s *store) integrity() error {
	rows, err := s.db.Query("PRAGMA integrity_check(5)")
	if err != nil {
		return corrupt(err)
	}
	defer rows.Close()
	var said []string
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return corrupt(err)
		}
		said = append(said, line)
	}
	if err := rows.Err(); err != nil {
		return corrupt(err)
	}
	if len(said) != 1 || said[0] != "ok" {
		return &CorruptError{Damage: DamagedFile, Detail: strings.Join(said, "; ")}
	}
	return nil
}
