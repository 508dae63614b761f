package web

import (
	"errors"
	"net/http"
	"strings"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
)

// explain says in plain words what the desk refused; nil for what is our own
// fault.
func explain(err error) *problem {
	var refused desk.Refusal
	var faulty desk.Faulty
	var large *http.MaxBytesError
	switch {
	case errors.Is(err, desk.ErrDenied):
		return &problem{http.StatusForbidden, "That is not for your role", "Somebody with another role has to do it: " + reason(err, desk.ErrDenied) + "."}
	case errors.Is(err, desk.ErrNotFound), errors.Is(err, store.ErrNotFound):
		return &problem{http.StatusNotFound, "There is no such thing here", "It may have been removed meanwhile, or the address is mistyped."}
	case errors.Is(err, desk.ErrChanged), errors.Is(err, store.ErrChanged):
		return &problem{http.StatusConflict, "Somebody has changed it meanwhile", "Nothing of yours was saved over theirs. Go back, look at what is there now, and do it again if it still should be done."}
	case errors.As(err, &refused):
		return &problem{http.StatusUnprocessableEntity, "That can't be done so", capital(refused.Message)}
	case errors.As(err, &faulty):
		return &problem{http.StatusUnprocessableEntity, "That has faults", capital(faulty.Error())}
	case errors.As(err, &large):
		return &problem{http.StatusRequestEntityTooLarge, "That is too large", "A form may send 4 MB at most."}
	}
	return nil
}

// reason is what an error says besides the sentinel it wraps.
func reason(err, sentinel error) string {
	words := strings.ReplaceAll(err.Error(), sentinel.Error()+": ", "")
	if words == sentinel.Error() {
		return "the desk keeps a list of who may do what"
	}
	return words
}
