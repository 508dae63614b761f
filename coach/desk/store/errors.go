package store

import (
	"errors"
	"fmt"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// What a caller branches on.
var (
	ErrNotFound = errors.New("there is none")
	ErrTaken    = errors.New("already taken")                      // a name, tag or key that must be unique
	ErrChanged  = errors.New("somebody else changed it meanwhile") // an older version was to be saved
	ErrState    = errors.New("not possible as things stand")       // such as approving what is no draft
	ErrInUse    = errors.New("another program is using this folder")

	// ErrFailed is in the error when a write or an fsync has failed, and in
	// that of every change after it. Nothing makes the store good again but a
	// new start of the program: Linux tells of a failed fsync once and then
	// forgets the pages, so a second one that succeeds proves nothing.
	ErrFailed = errors.New("the store has failed and takes no more")

	// ErrNewer says that a newer program wrote this database.
	ErrNewer = errors.New("a newer program wrote this database")
)

// code is SQLite's primary result code, 0 for another error.
func code(err error) int {
	if e := (*sqlite.Error)(nil); errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}

func busy(err error) bool { return code(err) == lib.SQLITE_BUSY || code(err) == lib.SQLITE_LOCKED }

// unsound reports whether an error means that the disk or the file can no
// longer be trusted.
func unsound(err error) bool {
	switch code(err) {
	case lib.SQLITE_IOERR, lib.SQLITE_FULL, lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB, lib.SQLITE_CANTOPEN,
		lib.SQLITE_READONLY, lib.SQLITE_NOMEM, lib.SQLITE_PROTOCOL, lib.SQLITE_INTERNAL:
		return true
	}
	return false
}

// none gives what as an error that wraps ErrNotFound.
func none(what string) error { return fmt.Errorf("%s: %w", what, ErrNotFound) }
