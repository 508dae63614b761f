package strict_test

import (
	"strings"
	"testing"
	"time"

	"evenbell/coach"
	"evenbell/coach/strict"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// zoo is a small format with every type, for tests alone.
type zoo struct {
	Name    string
	Keeper  string
	Pens    int
	Area    float64
	Feed    time.Duration
	Open    bool
	Since   coach.Day
	Checked time.Time
	Shifts  []string
	Animals []animal
}

type animal struct {
	Name string
	Legs int
}

func readZoo(text string) (zoo, []coach.Fault) {
	var z zoo
	f := strict.Parse("zoo.toml", []byte(text))
	if !f.Format("zoo", 1) {
		return z, f.Faults()
	}
	t := f.Root()
	z.Name, _ = t.Text("name", strict.Required)
	z.Keeper, _ = strict.Choice(t, "keeper", strict.Optional, "ada", "ben", "cyrus")
	z.Pens, _ = t.Int("pens", strict.Optional)
	z.Area, _ = t.Number("area", strict.Optional)
	z.Feed, _ = t.Seconds("feed", strict.Optional)
	z.Open, _ = t.Bool("open", strict.Optional)
	z.Since, _ = t.Day("since", strict.Optional)
	z.Checked, _ = t.Time("checked", strict.Optional)
	z.Shifts, _ = t.Texts("shifts", strict.Optional)
	animals, _ := t.Tables("animal", strict.Optional)
	for _, a := range animals {
		var v animal
		v.Name, _ = a.Text("name", strict.Required)
		if b, ok := a.Table("body", strict.Optional); ok {
			v.Legs, _ = b.Int("legs", strict.Optional)
		}
		z.Animals = append(z.Animals, v)
	}
	return z, f.Faults()
}

const head = "format = \"zoo/1\"\nname = \"N\"\n"

func lines(faults []coach.Fault) []string {
	var out []string
	for _, f := range faults {
		out = append(out, f.String())
	}
	return out
}

func TestReadsEveryType(t *testing.T) {
	z, faults := readZoo("\ufeffformat = \"zoo/1\"\r\n" + `
name = 'North "1"'
keeper = "ben"
pens = 0x1_0
area = 1_000.5
feed = 2.000000001
open = true
since = 2026-02-28
checked = 2026-03-01 16:20:00.5+01:00
shifts = ["early",
  "late", # both
]
[[animal]]
name = "emu"
body.legs = 2
[[animal]]
name = """
a cat"""
[animal.body]
legs = 4
`)
	assert.Empty(t, lines(faults))
	assert.Equal(t, zoo{
		Name: `North "1"`, Keeper: "ben", Pens: 16, Area: 1000.5, Feed: 2*time.Second + 1, Open: true,
		Since: "2026-02-28", Checked: time.Date(2026, 3, 1, 15, 20, 0, 5e8, time.UTC),
		Shifts: []string{"early", "late"}, Animals: []animal{{"emu", 2}, {"a cat", 4}},
	}, z)
}

func TestListsOfInlineTablesAreTables(t *testing.T) {
	z, faults := readZoo(head + `animal = [{name = "emu", body = {legs = 2}}, {name = "cat", body.legs = 4}]`)
	assert.Empty(t, lines(faults))
	assert.Equal(t, []animal{{"emu", 2}, {"cat", 4}}, z.Animals)
}

func TestEveryFaultAtOnce(t *testing.T) {
	_, faults := readZoo(`format = "zoo/1"
nme = "N"
pens = 010
pens = 3
area = nan
feed = "2"
open = 1
since = 2026-02-30
checked = 2026-03-01T16:20:00
shifts = ["early", 2]
keeper = "bern"
[[animal]
nmae = "emu"
body = 3
[[animal]]
name = "cat"
legs = 4
[animal.body]
legs = 4.5
[animal.body]
arms = 2
[zone]
`)
	assert.Equal(t, []string{
		`zoo.toml:1: name: missing; write a text in quotes`,
		`zoo.toml:2: nme: unknown key; did you mean "name"?; allowed here: format, name, keeper, pens, area, feed, open, since, checked, shifts, animal`,
		`zoo.toml:3: pens: not TOML: integers cannot have leading zeroes`,
		`zoo.toml:4: pens: given twice: already set on line 3`,
		`zoo.toml:5: area: nan is not allowed; write a plain number`,
		`zoo.toml:6: feed: is the text "2"; write seconds as a number, such as 2.5`,
		`zoo.toml:7: open: is the number 1; write true or false`,
		`zoo.toml:8: since: "2026-02-30" is not a calendar day; write it as 2026-03-02`,
		`zoo.toml:9: checked: 2026-03-01T16:20:00 is a time without a zone; write a day as 2026-03-02, a time as 2026-03-01T16:20:00Z`,
		`zoo.toml:10: shifts: holds the number 2; write a list of texts, such as ["tap", "hold"]`,
		`zoo.toml:11: keeper: "bern" is not allowed; did you mean "ben"?; it is one of ada, ben, cyrus`,
		`zoo.toml:12: animal: not TOML: expected ']]' to close array table name`,
		`zoo.toml:12: animal.name: missing; write a text in quotes`,
		`zoo.toml:13: animal.nmae: unknown key; did you mean "name"?; allowed here: name, body`,
		`zoo.toml:14: animal.body: is the number 3; write a table [animal.body]`,
		`zoo.toml:17: animal.legs: unknown key; allowed here: name, body`,
		`zoo.toml:19: animal.body.legs: is the number 4.5; write a whole number, such as 10`,
		`zoo.toml:20: animal.body: given twice: already set on line 18`,
		`zoo.toml:21: animal.body.arms: unknown key; allowed here: legs`,
		`zoo.toml:22: zone: unknown key; allowed here: format, name, keeper, pens, area, feed, open, since, checked, shifts, animal`,
	}, lines(faults))
}

func TestFormat(t *testing.T) {
	for text, want := range map[string]string{
		"name = 1":               `zoo.toml:1: format: missing; the file begins with format = "zoo/1"`,
		"":                       `zoo.toml:1: format: missing; the file begins with format = "zoo/1"`,
		"\n\nformat = \"zoo/2\"": `zoo.toml:3: format: zoo/2 is newer than this program reads; it reads zoo/1`,
		"format = \"zoo/x\"":     `zoo.toml:1: format: "zoo/x" is not a format this program reads here; it reads "zoo/1"`,
		"format = \"zoo/0\"":     `zoo.toml:1: format: "zoo/0" is not a format this program reads here; it reads "zoo/1"`,
		"format = \"farm/1\"":    `zoo.toml:1: format: "farm/1" is not a format this program reads here; it reads "zoo/1"`,
		"format = 1":             `zoo.toml:1: format: is the number 1; write a text in quotes`,
	} {
		_, faults := readZoo(text)
		assert.Equal(t, []string{want}, lines(faults), "%q", text)
	}
}

func TestSecondsAreExact(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"2": 2 * time.Second, "2.0": 2 * time.Second, "0.1": 100 * time.Millisecond,
		"-1.5": -1500 * time.Millisecond, "+0.000000001": 1, "16777216.000000001": 16777216*time.Second + 1,
		"1_000.250": 1000250 * time.Millisecond, "0x10": 16 * time.Second, "2.5000000000000": 2500 * time.Millisecond,
	} {
		z, faults := readZoo(head + "feed = " + text)
		assert.Empty(t, lines(faults), text)
		assert.Equal(t, want, z.Feed, text)
	}
	for text, want := range map[string]string{
		"0.0000000001":  "is 0.0000000001: seconds have at most nine decimals",
		"1e3":           "is 1e3: seconds are written without an exponent, such as 2.5",
		"10000000000.5": "is 10000000000.5: nothing here takes that long",
		"-inf":          "-inf is not allowed; write a plain number",
		"true":          "is true; write seconds as a number, such as 2.5",
	} {
		_, faults := readZoo(head + "feed = " + text)
		assert.Equal(t, []string{"zoo.toml:3: feed: " + want}, lines(faults))
	}
}

// The rules are those of TOML 1.0, sections Keys, Table, Inline Table and
// Array of Tables.
func TestNothingIsDefinedTwice(t *testing.T) {
	for text, line := range map[string]int{
		"a = 1\na = 2":                         2,
		"a = 1\n\"a\" = 2":                     2,
		"a.b = 1\na.b = 2":                     2,
		"a.b = 1\na = 2":                       2,
		"a = 1\na.b = 2":                       2,
		"[a]\n[a]":                             2,
		"[a]\n[[a]]":                           2,
		"[[a]]\n[a]":                           2,
		"a = []\n[[a]]":                        2,
		"a = [{}]\n[[a.b]]":                    2,
		"a = {b = 1}\n[a.c]":                   2,
		"a = {b = 1}\na.c = 2":                 2,
		"a = {b = 1, b = 2}":                   1,
		"a = {b.c = 1}\n[a.b.d]":               2,
		"a.b = 1\n[a]":                         2,
		"[a.b.c]\nz = 1\n[a]\nb.c.t = 2":       4,
		"a = 1\n[a.b]\nx = 1\nx = 2":           2,
		"[[a]]\n[a.b]\nx = 1\n[a.b]\ny = 2":    4,
		"[x.a]\n[x]\na = 1":                    3,
		"a = [[{b = 1}], [{b = 1, b = 2}]]":    1,
		"[[a]]\nb = 1\n[[a]]\nb = 1\nb = \"\"": 5,
	} {
		faults := strict.Parse("f", []byte(text)).Faults()
		require.NotEmpty(t, faults, "%q", text)
		var found []int
		for _, f := range faults {
			if strings.Contains(f.Message, "already set") {
				found = append(found, f.Line)
			}
		}
		assert.Contains(t, found, line, "%q: %v", text, lines(faults))
	}
}

func TestSupertablesMayFollow(t *testing.T) {
	f := strict.Parse("f", []byte("[a.b]\nx = 1\n[a]\ny = 2\n[a.c.d]\n[a.c]\n"))
	a, ok := f.Root().Table("a", strict.Required)
	require.True(t, ok)
	assert.Equal(t, []string{"b", "y", "c"}, a.Keys())
	assert.Equal(t, 3, a.Line())
}

func TestBrokenLinesCostNothingElse(t *testing.T) {
	for text, want := range map[string][]string{
		head + "pens = \narea = true": {
			`zoo.toml:3: pens: not TOML: unexpected character U+000A at start of value`,
			`zoo.toml:4: area: is true; write a number, such as 2.5`},
		head + "=":          {`zoo.toml:3: not TOML: invalid character at start of key: U+003D '='`},
		head + "open = yes": {`zoo.toml:3: open: not TOML: unexpected character U+0079 'y' at start of value`},
		head + "[[animal]]\nname = emu\n[[animal]]\n": {
			`zoo.toml:4: animal.name: not TOML: unexpected character U+0065 'e' at start of value`,
			`zoo.toml:5: animal.name: missing; write a text in quotes`},
		head + `shifts = "unclosed`: {`zoo.toml:3: shifts: not TOML: unterminated basic string`},
	} {
		_, faults := readZoo(text)
		assert.Equal(t, want, lines(faults), "%q", text)
	}
}

func TestTooLong(t *testing.T) {
	_, faults := readZoo(head + strings.Repeat("#", strict.MaxBytes))
	assert.Equal(t, []string{"zoo.toml:1: the file is 1048604 bytes long; at most 1048576 are read"}, lines(faults))
}

func TestWarningsAndPlaces(t *testing.T) {
	f := strict.Parse("f", []byte("\n[a]\n\nx = 1"))
	a, _ := f.Root().Table("a", strict.Required)
	a.Int("x", strict.Required)
	a.Int("y", strict.Optional)
	a.Warn("x", "is odd")
	a.Fault("y", "is %d", 2)
	a.Fault("", "is short")
	assert.Equal(t, 4, a.LineOf("x"))
	assert.True(t, a.Has("x"))
	assert.False(t, a.Has("y"))
	assert.Equal(t, []string{"f:2: a.y: is 2", "f:2: a: is short", "f:4: warning: a.x: is odd"}, lines(f.Faults()))
}
