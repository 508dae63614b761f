package strict

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/agnivade/levenshtein"
)

// Need says whether a key may be left out.
type Need bool

// The needs.
const (
	Required Need = true
	Optional Need = false
)

// made says how a table came to be, which decides how it may be added to.
type made int

const (
	byHeader      made = iota // [table], [[table]], or the file itself
	byImplication             // named on the way to another, not opened yet
	byDots                    // by dotted keys
	inline                    // in braces, closed
)

// Table is one table of a file. Asking it for a key declares the key allowed.
type Table struct {
	file  *File
	path  string // dotted, without indexes; empty at the top
	line  int
	made  made
	nodes []*node
	index map[string]*node
	asked []string
	read  bool
}

// node is one key with its value.
type node struct {
	key   string
	line  int
	value any
}

// Line is where the table begins.
func (t *Table) Line() int { return t.line }

// LineOf is where the key stands, or where the table begins if it is not given.
func (t *Table) LineOf(key string) int {
	if n := t.find(key); n != nil {
		return n.line
	}
	return t.line
}

// Has reports whether the key is given, readable or not. It declares nothing.
func (t *Table) Has(key string) bool { return t.find(key) != nil }

// Keys are the keys given, in the order of the file. It declares nothing.
func (t *Table) Keys() []string {
	var out []string
	for _, n := range t.nodes {
		out = append(out, n.key)
	}
	return out
}

// Fault records that what stands at key is wrong: the message says what it is
// and what is allowed. An empty key means the table itself.
func (t *Table) Fault(key, format string, args ...any) {
	path := t.path
	if key != "" {
		path = t.keyPath(key)
	}
	t.file.add(t.LineOf(key), path, format, args...)
}

// Warn records what is worth a look but stands.
func (t *Table) Warn(key, format string, args ...any) {
	t.Fault(key, format, args...)
	t.file.faults[len(t.file.faults)-1].Warning = true
}

func (t *Table) find(key string) *node { return t.index[key] }

// put adds a node; a table in it learns its place.
func (t *Table) put(k part, value any) *node {
	if sub, ok := value.(*Table); ok {
		sub.file, sub.path, sub.line = t.file, t.keyPath(k.name), k.line
	}
	n := &node{key: k.name, line: k.line, value: value}
	t.nodes = append(t.nodes, n)
	if t.index == nil {
		t.index = map[string]*node{}
	}
	t.index[k.name] = n
	return n
}

// close makes the table and what dotted keys built in it inline.
func (t *Table) close() {
	t.made = inline
	for _, n := range t.nodes {
		if sub, ok := n.value.(*Table); ok && sub.made == byDots {
			sub.close()
		}
	}
}

func (t *Table) keyPath(key string) string {
	if t.path == "" {
		return bare(key)
	}
	return t.path + "." + bare(key)
}

var bareKey = regexp.MustCompile(`^[A-Za-z0-9_.-]+$`)

// bare writes a key as it needs to be written: in quotes where it holds
// anything unusual.
func bare(key string) string {
	if bareKey.MatchString(key) {
		return short(key)
	}
	return quote(key)
}

func (t *Table) declare(key string) {
	t.read = true
	if !slices.Contains(t.asked, key) {
		t.asked = append(t.asked, key)
	}
}

// reportUnknown reports every key that nobody asked for, here and below.
func (t *Table) reportUnknown() {
	for _, n := range t.nodes {
		if !slices.Contains(t.asked, n.key) {
			t.file.add(n.line, t.keyPath(n.key), "unknown key%s; allowed here: %s", meant(n.key, t.asked), strings.Join(t.asked, ", "))
			continue
		}
		for _, sub := range below(n.value) {
			if sub.read {
				sub.reportUnknown()
			}
		}
	}
}

// below are the tables a value holds.
func below(v any) []*Table {
	switch v := v.(type) {
	case *Table:
		return []*Table{v}
	case []*Table:
		return v
	case array:
		var out []*Table
		for _, e := range v {
			out = append(out, below(e.value)...)
		}
		return out
	}
	return nil
}

// meant suggests the allowed word nearest to one that is not, in a phrase to
// put behind it; empty where nothing is near.
func meant(got string, allowed []string) string {
	if best := Nearest(got, allowed); best != "" {
		return fmt.Sprintf("; did you mean %s?", strconv.Quote(best))
	}
	return ""
}

// Nearest is the allowed word fewest edits away from got, at most a third of
// its letters and one more; the first of equals; empty where none is near.
func Nearest(got string, allowed []string) string {
	best, least := "", len(got)/3+2
	if len(got) > 80 {
		return ""
	}
	for _, word := range allowed {
		if d := levenshtein.ComputeDistance(got, word); d < least {
			best, least = word, d
		}
	}
	return best
}
