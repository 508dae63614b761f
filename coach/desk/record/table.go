package record

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"math/big"
	"strconv"
	"strings"
	"time"

	"evenbell/coach"
)

// Format is a form of a table.
type Format string

// The formats.
const (
	CSV   Format = "csv"   // RFC 4180, with a header
	JSONL Format = "jsonl" // one JSON object a line
)

// ParseFormat reads a format's name.
func ParseFormat(s string) (Format, error) {
	if f := Format(s); f == CSV || f == JSONL {
		return f, nil
	}
	return "", fmt.Errorf("%q is no form of a table; it is csv or jsonl", s)
}

// Column is one column of a table, and what stands in it. A unit is part of
// its name.
type Column struct{ Name, About string }

// Columns are the columns of an export by its name: entries, sets, sessions or
// incident.
func Columns(what string) ([]Column, error) {
	switch what {
	case "entries":
		return EntryColumns(), nil
	case "sets":
		return SetColumns(), nil
	case "sessions":
		return SessionColumns(), nil
	case "incident":
		return MomentColumns(), nil
	}
	return nil, fmt.Errorf("%q is no export with columns; it is entries, sets, sessions or incident", what)
}

// column is a Column with how to fill it. A cell is nil where nothing is known,
// else a string, bool, int, int64 or json.Number.
type column[T any] struct {
	Column
	cell func(T) any
}

func about[T any](cols []column[T]) []Column {
	out := make([]Column, len(cols))
	for i, c := range cols {
		out[i] = c.Column
	}
	return out
}

// write streams rows in a format; it holds one row at a time. shape, where
// given, makes a line of JSON of a row and its columns as an object.
func write[T any](w io.Writer, f Format, cols []column[T], rows iter.Seq2[T, error], shape func(T, []byte) []byte) error {
	buffered := bufio.NewWriter(w)
	var put func(T) error
	switch f {
	case CSV:
		put = csvRows(buffered, cols)
	case JSONL:
		put = jsonRows(buffered, cols, shape)
	default:
		return fmt.Errorf("%q is no form of a table; it is csv or jsonl", f)
	}
	for row, err := range rows {
		if err != nil {
			return fmt.Errorf("reading what to export: %w", err)
		}
		if err := put(row); err != nil {
			return fmt.Errorf("writing the table: %w", err)
		}
	}
	if err := buffered.Flush(); err != nil {
		return fmt.Errorf("writing the table: %w", err)
	}
	return nil
}

// csvRows writes the header, and gives what writes a row.
func csvRows[T any](w io.Writer, cols []column[T]) func(T) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	cells := make([]string, len(cols))
	line := func() error {
		if err := out.Write(cells); err != nil {
			return err
		}
		out.Flush()
		return out.Error()
	}
	for i, c := range cols {
		cells[i] = c.Name
	}
	begun := line()
	return func(row T) error {
		if begun != nil {
			return begun
		}
		for i, c := range cols {
			cells[i] = csvCell(c.cell(row))
		}
		return line()
	}
}

// csvCell writes a cell. Text that a spreadsheet would take for a formula gets
// an apostrophe in front, which it shows as text; numbers keep their sign.
func csvCell(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return harmless(v)
	case bool:
		return strconv.FormatBool(v)
	default:
		return fmt.Sprint(v)
	}
}

func harmless(s string) string {
	s = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(s) // a lone CR would be dropped
	if s != "" && strings.ContainsRune("=+-@\t\r\n|", rune(s[0])) {
		return "'" + s
	}
	return s
}

func jsonRows[T any](w io.Writer, cols []column[T], shape func(T, []byte) []byte) func(T) error {
	return func(row T) error {
		var b bytes.Buffer
		b.WriteByte('{')
		for i, c := range cols {
			if i > 0 {
				b.WriteByte(',')
			}
			if err := jsonField(&b, c.Name, c.cell(row)); err != nil {
				return err
			}
		}
		b.WriteByte('}')
		line := b.Bytes()
		if shape != nil {
			line = shape(row, line)
		}
		_, err := w.Write(append(line, '\n'))
		return err
	}
}

func jsonField(b *bytes.Buffer, name string, v any) error {
	key, err := compact(name)
	if err != nil {
		return err
	}
	value, err := compact(v)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	b.Write(key)
	b.WriteByte(':')
	b.Write(value)
	return nil
}

// compact is JSON on one line, with <, > and & as they are.
func compact(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// The cells.

// text is nil where there is none.
func text[S ~string](s S) any {
	if s == "" {
		return nil
	}
	return string(s)
}

// seconds has milliseconds.
func seconds(d time.Duration) any { return json.Number(coach.Seconds(d).String()) }

// secondsIf is nil where there is no time.
func secondsIf(d time.Duration) any {
	if d == 0 {
		return nil
	}
	return seconds(d)
}

func countIf(n int) any {
	if n == 0 {
		return nil
	}
	return n
}

// kilograms is a dumbbell's mass in kilograms, exact; nil for a band or the body.
func kilograms(l coach.Load) any {
	if l.Kind() != coach.DumbbellLoad {
		return nil
	}
	return ratNumber(exactKilograms(l, 1))
}

// exactKilograms is a mass times a count, without rounding: a pound is
// 0.45359237 kg by definition.
func exactKilograms(l coach.Load, times int64) *big.Rat {
	mass := big.NewRat(l.Milli()*times, 1000)
	if l.Unit() == coach.Pound {
		mass.Mul(mass, big.NewRat(45359237, 100000000))
	}
	return mass
}

// ratNumber writes a number with as many of eleven decimals as it needs.
func ratNumber(r *big.Rat) json.Number {
	s := r.FloatString(11)
	s = strings.TrimRight(s, "0")
	return json.Number(strings.TrimSuffix(s, "."))
}
