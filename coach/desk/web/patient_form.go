package web

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk"
)

// What stands in a field, read; a field that cannot be read is a fault, and an
// empty one is nothing.

func (f *form) day(name string) coach.Day {
	s := f.Get(name)
	if s == "" {
		return ""
	}
	d, err := coach.ParseDay(s)
	if err != nil {
		f.fault(name, "“%s” is no day; write it as 2026-03-02.", s)
	}
	return d
}

// number reads a decimal; a comma for the point is understood.
func (f *form) number(name, what string) *float64 {
	s := f.Get(name)
	if s == "" {
		return nil
	}
	n, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil || strings.ContainsAny(s, "xXpPnNiI_") {
		f.fault(name, "%s: “%s” is no number.", what, s)
		return nil
	}
	return &n
}

func (f *form) whole(name, what string, least, most int) *int {
	s := f.Get(name)
	if s == "" {
		return nil
	}
	n, err := strconv.Atoi(s)
	if err != nil || n < least || n > most {
		f.fault(name, "%s: “%s”; a whole number from %d to %d.", what, s, least, most)
		return nil
	}
	return &n
}

func (f *form) loadIn(name string) coach.Load {
	s := f.Get(name)
	if s == "" {
		return coach.Load{}
	}
	l, err := coach.ParseLoad(s)
	if err != nil {
		f.fault(name, "%s.", capital(err.Error()))
	}
	return l
}

// yesNo is an answer; nil where it was not asked.
func (f *form) yesNo(name string) *bool {
	var b bool
	switch f.Get(name) {
	case "yes":
		b = true
	case "no":
	default:
		return nil
	}
	return &b
}

// rows are the numbers of the rows that a form has of a kind, whose fields are
// named KIND.N.KEY; a row counts where one of its keys is filled.
func (f *form) rows(kind string, keys ...string) []int {
	var out []int
	for i := range mostRows {
		for _, k := range keys {
			if f.Get(fmt.Sprintf("%s.%d.%s", kind, i, k)) != "" {
				out = append(out, i)
				break
			}
		}
	}
	return out
}

// mostRows is how many rows of a kind a form takes.
const mostRows = 60

// spare is the numbers of the rows to draw: those filled and some empty ones.
func (f *form) spare(kind string, empty int, keys ...string) []int {
	last := 0
	for _, i := range f.rows(kind, keys...) {
		last = i + 1
	}
	var out []int
	for i := range min(last+empty, mostRows) {
		out = append(out, i)
	}
	return out
}

// refused puts what the desk refused at its field; any other error comes back.
func (f *form) refused(err error) error {
	var r desk.Refusal
	switch {
	case errors.As(err, &r):
		f.fault(r.Field, "%s", capital(r.Message))
		return nil
	case errors.Is(err, desk.ErrChanged):
		f.fault("", "Somebody else has changed this since you opened it. Yours is still here: open the page in a second window to compare, then send yours again.")
		return nil
	}
	return err
}

// notThere puts at a field that the desk found nothing by what stands there.
func (f *form) notThere(err error, field string) error {
	if errors.Is(err, desk.ErrNotFound) {
		f.fault(field, "%s.", capital(strings.TrimPrefix(err.Error(), desk.ErrNotFound.Error()+": ")))
		return nil
	}
	return f.refused(err)
}
