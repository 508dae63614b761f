package strict

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"evenbell/coach"
)

// ask looks a key up, declares it, and reports it where it is missing or of
// the wrong type; form says what is to be written.
func ask[T any](t *Table, key string, need Need, form string) (T, bool) {
	var none T
	t.declare(key)
	n := t.find(key)
	if n == nil {
		if need == Required {
			t.Fault(key, "missing; write %s", form)
		}
		return none, false
	}
	switch v := n.value.(type) {
	case T:
		return v, true
	case unread:
	default:
		t.Fault(key, "is %s; write %s", describe(v), form)
	}
	return none, false
}

// Text is the text at key.
func (t *Table) Text(key string, need Need) (string, bool) {
	return ask[string](t, key, need, `a text in quotes`)
}

// Choice is the text at key, which must be one of those allowed.
func Choice[T ~string](t *Table, key string, need Need, allowed ...T) (T, bool) {
	var words []string
	for _, a := range allowed {
		words = append(words, string(a))
	}
	list := strings.Join(words, ", ")
	got, ok := ask[string](t, key, need, "one of "+list+", in quotes")
	if !ok {
		return "", false
	}
	for _, a := range allowed {
		if string(a) == got {
			return a, true
		}
	}
	t.Fault(key, "%s is not allowed%s; it is one of %s", quote(got), meant(got, words), list)
	return "", false
}

// Texts is the list of texts at key.
func (t *Table) Texts(key string, need Need) ([]string, bool) {
	const form = `a list of texts, such as ["tap", "hold"]`
	list, ok := ask[array](t, key, need, form)
	if !ok {
		return nil, false
	}
	out := []string{}
	for _, e := range list {
		s, isText := e.value.(string)
		if _, lost := e.value.(unread); !isText && !lost {
			t.file.add(e.line, t.keyPath(key), "holds %s; write %s", describe(e.value), form)
		}
		ok = ok && isText
		out = append(out, s)
	}
	return out, ok
}

// Bool is the true or false at key.
func (t *Table) Bool(key string, need Need) (bool, bool) {
	return ask[bool](t, key, need, "true or false")
}

// Int is the whole number at key, which must be within ±2³¹ or so: nothing we
// count is larger.
func (t *Table) Int(key string, need Need) (int, bool) {
	v, ok := ask[int64](t, key, need, "a whole number, such as 10")
	if ok && (v > math.MaxInt32 || v < math.MinInt32) {
		t.Fault(key, "is %d; nothing here is that large", v)
		return 0, false
	}
	return int(v), ok
}

// number is the digits at key, of a whole number or a decimal.
func (t *Table) number(key string, need Need, form string) (string, bool) {
	if n := t.find(key); n != nil {
		if v, ok := n.value.(int64); ok {
			t.declare(key)
			return strconv.FormatInt(v, 10), true
		}
	}
	v, ok := ask[decimal](t, key, need, form)
	return string(v), ok
}

// Number is the number at key, whole or decimal, as the nearest float.
func (t *Table) Number(key string, need Need) (float64, bool) {
	text, ok := t.number(key, need, "a number, such as 2.5")
	if !ok {
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fault(key, "is %s, which is not a number", short(text)) // the parser let it through: never silent
		return 0, false
	}
	return v, true
}

// Seconds is the number of seconds at key, exactly as its digits say.
func (t *Table) Seconds(key string, need Need) (time.Duration, bool) {
	text, ok := t.number(key, need, "seconds as a number, such as 2.5")
	if !ok {
		return 0, false
	}
	d, err := seconds(text)
	if err != nil {
		t.Fault(key, "is %s: %v", short(text), err)
		return 0, false
	}
	return d, true
}

// seconds reads plain decimal digits without rounding.
func seconds(text string) (time.Duration, error) {
	digits, negative := strings.CutPrefix(text, "-")
	whole, frac, _ := strings.Cut(digits, ".")
	frac = strings.TrimRight(frac, "0")
	switch {
	case strings.ContainsAny(text, "eE"):
		return 0, fmt.Errorf("seconds are written without an exponent, such as 2.5")
	case len(frac) > 9:
		return 0, fmt.Errorf("seconds have at most nine decimals")
	case len(whole) > 9:
		return 0, fmt.Errorf("nothing here takes that long")
	}
	ns, err := strconv.ParseInt(whole+frac+strings.Repeat("0", 9-len(frac)), 10, 64)
	if err != nil {
		return 0, fmt.Errorf("seconds are written as digits, such as 2.5")
	}
	if negative {
		ns = -ns
	}
	return time.Duration(ns), nil
}

// Day is the calendar day at key.
func (t *Table) Day(key string, need Need) (coach.Day, bool) {
	return ask[coach.Day](t, key, need, "a day without quotes, such as 2026-03-02")
}

// Time is the time at key, which must carry its zone, in UTC.
func (t *Table) Time(key string, need Need) (time.Time, bool) {
	v, ok := ask[time.Time](t, key, need, "a time with its zone and without quotes, such as 2026-03-01T16:20:00Z")
	return v.UTC(), ok
}

// Table is the table at key, nil where there is none.
func (t *Table) Table(key string, need Need) (*Table, bool) {
	v, ok := ask[*Table](t, key, need, fmt.Sprintf("a table [%s]", t.keyPath(key)))
	if ok {
		v.read = true
	}
	return v, ok
}

// Tables are the tables at key, of [[key]] headers or a list of { … }.
func (t *Table) Tables(key string, need Need) ([]*Table, bool) {
	form := fmt.Sprintf("tables, each headed [[%s]]", t.keyPath(key))
	if n := t.find(key); n != nil {
		if list, ok := n.value.(array); ok {
			return t.elements(key, list, form)
		}
	}
	all, ok := ask[[]*Table](t, key, need, form)
	for _, sub := range all {
		sub.read = true
	}
	return all, ok
}

func (t *Table) elements(key string, list array, form string) ([]*Table, bool) {
	t.declare(key)
	var out []*Table
	for _, e := range list {
		switch v := e.value.(type) {
		case *Table:
			v.read = true
			out = append(out, v)
		case unread:
		default:
			t.file.add(e.line, t.keyPath(key), "holds %s; write %s", describe(v), form)
		}
	}
	return out, len(out) == len(list)
}
