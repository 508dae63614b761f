package plan

import (
	"fmt"
	"time"

	"evenbell/coach/protocol"
	"evenbell/coach/strict"
)

// bound is the end of a range, with what a message says of it.
type bound struct {
	value float64
	text  string
}

// limit is a bound that the protocol sets.
func (r *reader) limit(k protocol.Key) bound {
	return bound{r.protocol.Number(k), r.protocol.Allowed(k)}
}

// exactly is a bound that lies in the sense of a key, not in any clinical rule.
func exactly(n int) bound { return bound{float64(n), fmt.Sprint(n)} }

// seconds reads a time and records a fault where it is out of bounds.
func seconds(t *strict.Table, key string, need strict.Need, least, most bound) (time.Duration, bool) {
	d, ok := t.Seconds(key, need)
	if !ok || !within(t, key, d.Seconds(), decimal(d)+" s", least, most) {
		return 0, false
	}
	return d, true
}

// count reads a whole number and records a fault where it is out of bounds.
func count(t *strict.Table, key string, need strict.Need, least, most bound) (int, bool) {
	n, ok := t.Int(key, need)
	if !ok || !within(t, key, float64(n), fmt.Sprint(n), least, most) {
		return 0, false
	}
	return n, true
}

func within(t *strict.Table, key string, v float64, written string, least, most bound) bool {
	switch {
	case v < least.value:
		t.Fault(key, "is %s; at least %s", written, least.text)
	case v > most.value:
		t.Fault(key, "is %s; at most %s", written, most.text)
	default:
		return true
	}
	return false
}
