package strict

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"evenbell/coach"

	"github.com/pelletier/go-toml/v2/unstable"
)

// What a node can hold, besides string, bool, int64, coach.Day, time.Time,
// *Table and []*Table.
type (
	decimal string   // a number with a point or exponent, underscores removed
	array   []*node  // a list in brackets
	unread  struct{} // what could not be read, and is reported already
)

// value turns a parsed value into what a node holds; n is where it will stand
// in t. A value that cannot be is reported here and becomes unread.
func (b *builder) value(n *node, t *Table, v *unstable.Node) any {
	if v == nil {
		return unread{}
	}
	switch v.Kind {
	case unstable.Array:
		return b.array(n, t, v)
	case unstable.InlineTable:
		return b.inlineTable(n, t, v)
	}
	got, err := scalar(v)
	if err != nil {
		t.file.add(n.line, t.keyPath(n.key), "%v", err)
		return unread{}
	}
	return got
}

func (b *builder) array(n *node, t *Table, v *unstable.Node) any {
	out := array{}
	for it := v.Children(); it.Next(); {
		e := &node{key: n.key, line: n.line}
		if r := it.Node().Raw; r.Length > 0 {
			e.line = b.line(r)
		}
		e.value = b.value(e, t, it.Node())
		out = append(out, e)
	}
	return out
}

func (b *builder) inlineTable(n *node, t *Table, v *unstable.Node) any {
	sub := &Table{file: b.file, path: t.keyPath(n.key), line: n.line, made: byDots}
	for it := v.Children(); it.Next(); {
		if kv := it.Node(); kv.Kind == unstable.KeyValue {
			b.set(sub, b.path(kv.Key()), kv.Value())
		}
	}
	sub.close()
	return sub
}

// scalar reads a value that holds no others.
func scalar(v *unstable.Node) (any, error) {
	text := string(v.Data)
	switch v.Kind {
	case unstable.String:
		return text, nil
	case unstable.Bool:
		return text == "true", nil
	case unstable.Integer:
		n, err := strconv.ParseInt(strings.TrimPrefix(strings.ReplaceAll(text, "_", ""), "+"), base(text), 64)
		if err != nil {
			return nil, fmt.Errorf("%s is too large a number", short(text))
		}
		return n, nil
	case unstable.Float:
		return float(text)
	case unstable.LocalDate:
		return coach.ParseDay(text)
	case unstable.DateTime:
		return moment(text)
	}
	return nil, fmt.Errorf("%s is a time without a zone; write a day as 2026-03-02, a time as 2026-03-01T16:20:00Z", short(text))
}

// moment reads a time with its zone, in the forms TOML allows.
func moment(text string) (any, error) {
	plain := strings.Replace(strings.ToUpper(text), " ", "T", 1)
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04Z07:00"} {
		if at, err := time.Parse(layout, plain); err == nil {
			return at, nil
		}
	}
	return nil, fmt.Errorf("%s is not a time that exists; write it as 2026-03-01T16:20:00Z", short(text))
}

// base is 10, or 0 where a prefix such as 0x tells it.
func base(text string) int {
	if len(text) > 1 && text[0] == '0' {
		return 0
	}
	return 10
}

func float(text string) (any, error) {
	text = strings.TrimPrefix(strings.ReplaceAll(text, "_", ""), "+")
	if strings.HasSuffix(text, "nan") || strings.HasSuffix(text, "inf") {
		return nil, fmt.Errorf("%s is not allowed; write a plain number", text)
	}
	if _, err := strconv.ParseFloat(text, 64); err != nil {
		return nil, fmt.Errorf("%s is too large a number", short(text))
	}
	return decimal(text), nil
}

// describe names a value in a message.
func describe(v any) string {
	switch v := v.(type) {
	case string:
		return "the text " + quote(v)
	case bool:
		return fmt.Sprint(v)
	case int64:
		return fmt.Sprintf("the number %d", v)
	case decimal:
		return "the number " + short(string(v))
	case coach.Day:
		return "the day " + string(v)
	case time.Time:
		return "the time " + v.Format(time.RFC3339Nano)
	case *Table:
		return "a table"
	case []*Table:
		return "a list of tables"
	case array:
		return "a list"
	}
	return "unreadable"
}

// quote writes a text in quotes, cut where it is long, always on one line.
func quote(s string) string { return strconv.QuoteToGraphic(short(s)) }

const shortest = 40

func short(s string) string {
	if r := []rune(s); len(r) > shortest {
		return string(r[:shortest]) + "…"
	}
	return s
}
