package link

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
)

// problem is a refusal as it travels (RFC 9457).
type problem struct {
	Type   string `json:"type"`
	Title  string `json:"title"`
	Status int    `json:"status"`
	Detail string `json:"detail,omitempty"`
}

// refusals are the errors that keep their meaning on the wire.
var refusals = []struct {
	err    error
	name   string
	status int
}{
	{ErrCode, "/link/1/problems/code", http.StatusForbidden},
	{ErrTries, "/link/1/problems/tries", http.StatusTooManyRequests},
	{ErrUnknown, "/link/1/problems/unknown", http.StatusForbidden},
	{ErrRevoked, "/link/1/problems/revoked", http.StatusForbidden},
	{ErrChain, "/link/1/problems/chain", http.StatusConflict},
	{ErrNoPlan, "/link/1/problems/plan", http.StatusNotFound},
	{ErrNoRecording, "/link/1/problems/recording", http.StatusNotFound},
}

// errForm is for what is sent in the wrong form.
type errForm struct{ error }

// problemOf says how an error is told. What the desk itself failed with is
// nobody's business out there.
func problemOf(err error) problem {
	for _, r := range refusals {
		if errors.Is(err, r.err) {
			return problem{Type: r.name, Title: r.err.Error(), Status: r.status}
		}
	}
	var big *http.MaxBytesError
	var form errForm
	switch {
	case errors.As(err, &big):
		return problem{Type: "about:blank", Title: http.StatusText(http.StatusRequestEntityTooLarge),
			Status: http.StatusRequestEntityTooLarge, Detail: fmt.Sprintf("at most %d bytes", big.Limit)}
	case errors.As(err, &form):
		return problem{Type: "about:blank", Title: http.StatusText(http.StatusBadRequest), Status: http.StatusBadRequest, Detail: form.Error()}
	}
	return problem{Type: "about:blank", Title: "the desk could not; try again", Status: http.StatusServiceUnavailable}
}

func (p problem) write(w http.ResponseWriter) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(p.Status)
	_ = json.NewEncoder(w).Encode(p) // whom it can't reach has gone
}

// Refused is a refusal as the station gets it. It is one of the errors a Desk
// refuses with where the desk said so.
type Refused struct {
	Status        int
	Title, Detail string
	kind          error
}

// Error is what the desk said.
func (r *Refused) Error() string {
	s := fmt.Sprintf("the desk says: %s", r.Title)
	if r.Detail != "" {
		s += " (" + r.Detail + ")"
	}
	return s
}

// Unwrap gives the Desk's error, nil where it is none of them.
func (r *Refused) Unwrap() error { return r.kind }

// readRefusal reads an answer that is not the wanted one.
func readRefusal(answer *http.Response) error {
	r := &Refused{Status: answer.StatusCode, Title: answer.Status}
	text, err := io.ReadAll(io.LimitReader(answer.Body, 64<<10))
	var p problem
	if err != nil || json.Unmarshal(text, &p) != nil || p.Title == "" {
		return r
	}
	r.Title, r.Detail = p.Title, p.Detail
	for _, known := range refusals {
		if p.Type == known.name {
			r.kind = known.err
		}
	}
	return r
}
