package store

import (
	"strconv"
	"strings"
	"time"
)

// where collects conditions and their arguments.
type where struct {
	conditions []string
	args       []any
}

// and adds a condition; each $ in it stands for the next argument.
func (w *where) and(condition string, args ...any) {
	for _, a := range args {
		w.args = append(w.args, a)
		condition = strings.Replace(condition, "$", "\x00"+strconv.Itoa(len(w.args)), 1)
	}
	w.conditions = append(w.conditions, strings.ReplaceAll(condition, "\x00", "$"))
}

// clause is what stands in the statement; nothing where there is no condition.
func (w *where) clause() string {
	if len(w.conditions) == 0 {
		return ""
	}
	return " WHERE " + strings.Join(w.conditions, " AND ")
}

// among is a condition that a column is one of values, or is not.
func among[T ~string](w *where, column, in string, values []T) {
	if len(values) == 0 {
		return
	}
	args := make([]any, len(values))
	for i, v := range values {
		args[i] = string(v)
	}
	w.and(column+" "+in+" ("+strings.TrimSuffix(strings.Repeat("$, ", len(values)), ", ")+")", args...)
}

func limited(n int) string {
	if n <= 0 {
		return ""
	}
	return " LIMIT " + strconv.Itoa(n)
}

// equal is a condition that a column is a text; none for the empty text.
func (w *where) equal(column, value string) {
	if value != "" {
		w.and(column+" = $", value)
	}
}

// of is a condition that a column is an id; none for 0.
func (w *where) of(column string, id int64) {
	if id != 0 {
		w.and(column+" = $", id)
	}
}

// between is a condition that a column lies from one time and before another;
// a zero time is no bound.
func (w *where) between(column string, from, before time.Time) {
	if !from.IsZero() {
		w.and(column+" >= $", millis(from))
	}
	if !before.IsZero() {
		w.and(column+" < $", millis(before))
	}
}
