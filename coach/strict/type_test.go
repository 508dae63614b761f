package strict_test

import (
	"strings"
	"testing"
	"time"

	"evenbell/coach/strict"

	"github.com/stretchr/testify/assert"
)

func TestWrongTypesAreNamed(t *testing.T) {
	for text, want := range map[string]string{
		`pens = "` + strings.Repeat("x", 50) + `"`: `pens: is the text "` + strings.Repeat("x", 40) + `…"; write a whole number, such as 10`,
		`pens = 2026-03-02`:                        `pens: is the day 2026-03-02; write a whole number, such as 10`,
		`pens = 2026-03-02T10:00:00+01:00`:         `pens: is the time 2026-03-02T10:00:00+01:00; write a whole number, such as 10`,
		`pens = []`:                                `pens: is a list; write a whole number, such as 10`,
		`pens = {}`:                                `pens: is a table; write a whole number, such as 10`,
		"[[pens]]":                                 `pens: is a list of tables; write a whole number, such as 10`,
		`pens = 3000000000`:                        `pens: is 3000000000; nothing here is that large`,
		`pens = 9223372036854775808`:               `pens: 9223372036854775808 is too large a number`,
		`area = 1e999`:                             `area: 1e999 is too large a number`,
		`animal = [{name = "emu"}, 3]`:             `animal: holds the number 3; write tables, each headed [[animal]]`,
		`checked = 2026-03-02T25:00:00Z`:           `checked: 2026-03-02T25:00:00Z is not a time that exists; write it as 2026-03-01T16:20:00Z`,
		`"two words" = 1`:                          `"two words": unknown key; allowed here: format, name, keeper, pens, area, feed, open, since, checked, shifts, animal`,
	} {
		_, faults := readZoo(head + text)
		assert.Equal(t, []string{"zoo.toml:3: " + want}, lines(faults), text)
	}
	z, faults := readZoo(head + "area = 3\nchecked = 2026-03-02 10:00Z")
	assert.Empty(t, lines(faults))
	assert.InDelta(t, 3.0, z.Area, 0)
	assert.Equal(t, time.Date(2026, 3, 2, 10, 0, 0, 0, time.UTC), z.Checked)
}

func TestAFaultyElementIsReportedOnce(t *testing.T) {
	_, faults := readZoo(head + "animal = [{name = \"emu\"},\n  nan]\nshifts = [inf]")
	assert.Equal(t, []string{`zoo.toml:4: animal: nan is not allowed; write a plain number`, `zoo.toml:5: shifts: inf is not allowed; write a plain number`}, lines(faults))
}

func TestNearest(t *testing.T) {
	words := []string{"reps", "rest", "sets"}
	assert.Equal(t, "reps", strict.Nearest("rep", words))
	assert.Equal(t, "reps", strict.Nearest("rets", words), "the first of equals")
	assert.Empty(t, strict.Nearest("exercise", words))
	assert.Empty(t, strict.Nearest(strings.Repeat("r", 1000), words))
}
