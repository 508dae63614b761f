package desk

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"strings"
)

// differing are the keys whose values differ, in order.
func differing(a, b map[string]json.RawMessage) []string {
	keys := map[string]bool{}
	for k := range a {
		keys[k] = true
	}
	for k := range b {
		keys[k] = true
	}
	return slices.DeleteFunc(slices.Sorted(maps.Keys(keys)), func(k string) bool { return bytes.Equal(a[k], b[k]) })
}

// mostClipped is how many letters of what a station says go on a page.
const mostClipped = 200

// clipped is what a station said, as far as a page has room for it.
func clipped(s string) string {
	if len(s) <= mostClipped {
		return s
	}
	if r := []rune(s); len(r) > mostClipped {
		return string(r[:mostClipped]) + "…"
	}
	return s
}

// joined lists words, "nothing" where there are none.
func joined(words []string) string {
	if len(words) == 0 {
		return "nothing"
	}
	return strings.Join(words, ", ")
}
