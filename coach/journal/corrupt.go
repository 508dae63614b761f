package journal

import (
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Damage is a way in which a log can be wrong.
type Damage string

// The kinds of damage.
const (
	DamagedFile  Damage = "the file is damaged"                // SQLite cannot make sense of it
	DamagedRow   Damage = "the checksum is wrong"              // of this entry, or of the epoch's row where Seq is 0
	DamagedForm  Damage = "the line is not this entry"         // its checksum holds, but it is no entry or another one
	BrokenChain  Damage = "the chain is broken"                // something before it was changed
	MissingEntry Damage = "an entry is missing"                // the number that should come next does not
	BrokenEpoch  Damage = "the epoch does not follow the last" // its start names something else
	LostTail     Damage = "the newest entries are lost"        // the mark knows of this one, the log does not
)

// CorruptError says what is wrong with a log and where.
type CorruptError struct {
	Position
	Damage Damage
	Detail string // more of it, for a technician; may be empty
}

// Error is the one-line form.
func (e *CorruptError) Error() string {
	s := "the log is damaged: "
	if e.Epoch != "" {
		s += fmt.Sprintf("epoch %s entry %d: ", e.Epoch, e.Seq)
	}
	s += string(e.Damage)
	if e.Detail != "" {
		s += " (" + e.Detail + ")"
	}
	return s
}

// corrupt turns what SQLite says of a damaged file into a CorruptError, and
// leaves any other error as it is.
func corrupt(err error) error {
	var said *sqlite.Error
	if !errors.As(err, &said) {
		return err
	}
	switch said.Code() & 0xff {
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_ERROR, sqlite3.SQLITE_FORMAT:
		return &CorruptError{Damage: DamagedFile, Detail: said.Error()}
	}
	return err
}
