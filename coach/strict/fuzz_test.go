package strict_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"evenbell/coach/strict"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
)

// FuzzParse holds the reader against the library's own decoder, which stops
// at the first fault: both accept the same files, save what we refuse beyond
// TOML (nan, inf, times without a zone, files too long) and except that faults are found in any
// number, each on one line of text and on a line of the file.
func FuzzParse(f *testing.F) {
	for _, s := range []string{head, "a.b = 1\n[a.c]\n[[x.y]]\nz = {p = [1, {q = 2}]}\n", "a = 010\n[b\nc = \"", "a = 2026-03-01T16:20:00Z\nb = 1_0.5e1",
		"x = [\n1,\n", "'' = \"\\u00e9\"\r\n", "\ufeffa = 07:32:00", "[[a]\nb = nan", "[a]\n[a.b]\n[a]\nb.c = inf"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		_, faults := readZoo(string(text))
		last := 1 + strings.Count(string(text), "\n")
		for _, v := range faults {
			assert.True(t, 1 <= v.Line && v.Line <= last, "line %d of %d", v.Line, last)
			assert.NotContains(t, v.String(), "\n")
			assert.NotContains(t, v.String(), "\r")
		}
		p := strict.Parse("f", text)
		declareAll(p.Root())
		faults = p.Faults()
		var want map[string]any
		err := toml.Unmarshal([]byte(strings.TrimPrefix(string(text), "\ufeff")), &want)
		if err == nil && (!taken(want) || len(text) > strict.MaxBytes) {
			return
		}
		assert.Equal(t, err == nil, len(faults) == 0, "decoder: %v\nfaults: %v\n%q", err, lines(faults), text)
	})
}

// declareAll asks for every key at the top, so that only what is wrong in
// itself remains.
func declareAll(t *strict.Table) {
	for _, k := range t.Keys() {
		strict.Declare(t, k)
	}
}

// taken reports whether v holds only what our formats take.
func taken(v any) bool {
	switch v := v.(type) {
	case float64:
		return !math.IsNaN(v) && !math.IsInf(v, 0)
	case toml.LocalTime, toml.LocalDateTime:
		return false
	case []any:
		for _, e := range v {
			if !taken(e) {
				return false
			}
		}
	case map[string]any:
		for _, e := range v {
			if !taken(e) {
				return false
			}
		}
	}
	return true
}

// FuzzSeconds holds the reading of seconds against whole nanoseconds.
func FuzzSeconds(f *testing.F) {
	for _, n := range []int64{0, 1, -1, 2500000000, 999999999, -1000000001} {
		f.Add(n)
	}
	f.Fuzz(func(t *testing.T, ns int64) {
		whole, frac := ns/1e9, ns%1e9
		sign := ""
		if ns < 0 {
			sign, whole, frac = "-", -whole, -frac
		}
		digits := strconv.FormatInt(1e9+frac, 10)[1:]
		z, faults := readZoo(head + "feed = " + sign + strconv.FormatInt(whole, 10) + "." + digits)
		if whole >= 1e9 {
			assert.NotEmpty(t, faults)
			return
		}
		assert.Empty(t, lines(faults))
		assert.Equal(t, ns, z.Feed.Nanoseconds())
	})
}
