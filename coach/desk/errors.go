package desk

import (
	"errors"
	"fmt"
	"time"

	"evenbell/coach"
)

// What a caller tells apart. Each is wrapped with what was being done.
var (
	ErrDenied      = errors.New("this role may not do that")
	ErrNotFound    = errors.New("there is no such thing")
	ErrNotLoggedIn = errors.New("not logged in")
	ErrWrongLogin  = errors.New("the name or the password is wrong")
	// ErrChanged says that somebody else was quicker: look again.
	ErrChanged = errors.New("somebody has changed it meanwhile")
)

// TooManyTries is a login refused without looking at the password.
type TooManyTries struct{ Wait time.Duration }

// Error says how long to wait.
func (e TooManyTries) Error() string {
	return fmt.Sprintf("too many wrong logins; try again in %d s", int(e.Wait.Seconds())+1)
}

// Refusal is something that can't be done as asked. Its message is for the
// person who asked: what is wrong and what to do about it.
type Refusal struct {
	Field   string // of a form; empty where it is about none
	Message string
}

// Error is the message, with the field before it.
func (r Refusal) Error() string {
	if r.Field == "" {
		return r.Message
	}
	return r.Field + ": " + r.Message
}

func refuse(field, format string, args ...any) error {
	return Refusal{field, fmt.Sprintf(format, args...)}
}

// Faulty is a plan, protocol or class that can't be taken as it is written.
type Faulty struct{ Faults []coach.Fault }

// Error is the first fault and how many there are.
func (f Faulty) Error() string {
	wrong := coach.Errors(f.Faults)
	if len(wrong) == 0 {
		return "it has faults"
	}
	return fmt.Sprintf("%d fault(s); the first: %s", len(wrong), wrong[0])
}
