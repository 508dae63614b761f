package strict

import (
	"errors"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// builder walks the parser's expressions and grows the tree of tables, with
// TOML's own rules on what may be defined again.
type builder struct {
	file *File
	text []byte
	base int // offset in text of what the parser was last given
	here *Table
	p    unstable.Parser
}

// build reads to the end of the text, starting afresh on the line below each
// syntax error.
func (b *builder) build() {
	for b.base < len(b.text) {
		b.p.Reset(b.text[b.base:])
		for b.p.NextExpression() {
			b.expression(b.p.Expression())
		}
		err := b.p.Error()
		if err == nil {
			return
		}
		b.recoverFrom(err)
	}
}

func (b *builder) expression(e *unstable.Node) {
	keys := b.path(e.Key())
	switch e.Kind {
	case unstable.Table:
		b.openTable(keys)
	case unstable.ArrayTable:
		b.openElement(keys)
	case unstable.KeyValue:
		b.set(b.here, keys, e.Value())
	}
}

// part is one part of a dotted key.
type part struct {
	name string
	line int
}

func (b *builder) path(it unstable.Iterator) []part {
	var out []part
	for it.Next() {
		n := it.Node()
		out = append(out, part{string(n.Data), b.line(n.Raw)})
	}
	return out
}

func (b *builder) line(r unstable.Range) int { return b.file.lineOf(b.base + int(r.Offset)) }

// set puts a value at a dotted key below t.
func (b *builder) set(t *Table, keys []part, v *unstable.Node) {
	for _, k := range keys[:len(keys)-1] {
		n := t.find(k.name)
		if n == nil {
			n = t.put(k, &Table{made: byDots})
		}
		sub, ok := n.value.(*Table)
		if !ok || sub.made != byDots {
			t.file.add(k.line, t.keyPath(k.name), "given twice: already set on line %d", n.line)
			return
		}
		t = sub
	}
	last := keys[len(keys)-1]
	if n := t.find(last.name); n != nil {
		t.file.add(last.line, t.keyPath(last.name), "given twice: already set on line %d", n.line)
		return
	}
	n := t.put(last, nil)
	n.value = b.value(n, t, v)
}

// descend follows a header's path to its last part, through the newest
// element of an array of tables; nil where something else stands in the way.
func (b *builder) descend(keys []part) *Table {
	t := b.file.root
	for _, k := range keys[:len(keys)-1] {
		n := t.find(k.name)
		if n == nil {
			n = t.put(k, &Table{made: byImplication})
		}
		switch v := n.value.(type) {
		case []*Table:
			t = v[len(v)-1]
			continue
		case *Table:
			if v.made != inline {
				t = v
				continue
			}
		}
		t.file.add(k.line, t.keyPath(k.name), "cannot hold a table: already set on line %d", n.line)
		return nil
	}
	return t
}

// openTable begins [a.b]. A table opened twice is a fault, and what stands
// below it is read all the same.
func (b *builder) openTable(keys []part) {
	last := keys[len(keys)-1]
	t := b.descend(keys)
	if t == nil {
		b.here = b.nowhere(last)
		return
	}
	n := t.find(last.name)
	if n == nil {
		n = t.put(last, &Table{made: byHeader})
	} else if sub, ok := n.value.(*Table); ok && sub.made == byImplication {
		sub.made, sub.line, n.line = byHeader, last.line, last.line
	} else {
		t.file.add(last.line, t.keyPath(last.name), "given twice: already set on line %d", n.line)
	}
	sub, ok := n.value.(*Table)
	if !ok {
		sub = b.nowhere(last)
	}
	b.here = sub
}

// openElement begins the next [[a.b]].
func (b *builder) openElement(keys []part) {
	last := keys[len(keys)-1]
	b.here = b.nowhere(last)
	t := b.descend(keys)
	if t == nil {
		return
	}
	n := t.find(last.name)
	if n == nil {
		n = t.put(last, []*Table(nil))
	}
	all, ok := n.value.([]*Table)
	if !ok {
		t.file.add(last.line, t.keyPath(last.name), "given twice: already set on line %d as something else than [[%s]]", n.line, bare(last.name))
		return
	}
	b.here = &Table{file: b.file, path: t.keyPath(last.name), line: last.line, made: byHeader}
	n.value = append(all, b.here)
}

// nowhere is a table that nobody will read, for what stands below a header
// that has no place.
func (b *builder) nowhere(k part) *Table {
	return &Table{file: b.file, path: bare(k.name), line: k.line, made: byHeader}
}

// intended reads what a broken line set out to be: a header or a key.
var intended = regexp.MustCompile(`^\s*(\[{0,2})\s*([A-Za-z_][A-Za-z0-9_-]*(?:\.[A-Za-z0-9_-]+)*)`)

// recoverFrom reports a syntax error and takes the broken line as what it
// seems to be, so that nothing follows from it: a header opens its table, a
// key counts as given.
func (b *builder) recoverFrom(err error) {
	var at *unstable.ParserError
	offset := b.base
	if errors.As(err, &at) {
		offset += int(b.p.Range(at.Highlight).Offset)
	}
	line := b.file.lineOf(offset)
	from, to := 0, len(b.text)
	if line > 1 {
		from = b.file.breaks[line-2] + 1
	}
	if line <= len(b.file.breaks) {
		to = b.file.breaks[line-1] + 1
	}
	b.base = to

	m := intended.FindSubmatch(b.text[from:to])
	if m == nil {
		b.file.add(line, b.here.path, "not TOML: %v", err)
		return
	}
	var keys []part
	for _, name := range strings.Split(string(m[2]), ".") {
		keys = append(keys, part{name, line})
	}
	key := string(m[2])
	if len(m[1]) == 0 {
		key = b.here.keyPath(key)
	}
	b.file.add(line, key, "not TOML: %v", err)
	b.assume(string(m[1]), keys)
}

// assume takes a broken line as read, without reporting anything more on it.
func (b *builder) assume(brackets string, keys []part) {
	before := len(b.file.faults)
	switch brackets {
	case "[":
		b.openTable(keys)
	case "[[":
		b.openElement(keys)
	default:
		b.set(b.here, keys, nil)
	}
	b.file.faults = b.file.faults[:before]
}
