package record

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"iter"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/review"
)

func each[T any](all []T) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for _, v := range all {
			if !yield(v, nil) {
				return
			}
		}
	}
}

// table reads a CSV back, by header.
func table(t *testing.T, b []byte) []map[string]string {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, row := range rows[1:] {
		one := map[string]string{}
		for i, name := range rows[0] {
			one[name] = row[i]
		}
		out = append(out, one)
	}
	return out
}

func TestEntriesAsLinesAreTheLogAgain(t *testing.T) {
	entries := played(t, 1, day(0), 0)
	var b bytes.Buffer
	require.NoError(t, WriteEntries(&b, JSONL, clinic(), each(entries)))
	back, faults := journal.Read("export", bytes.NewReader(b.Bytes()))
	require.Empty(t, faults)
	require.Len(t, back, len(entries))
	for i := range back {
		line, err := journal.Line(back[i])
		require.NoError(t, err)
		require.Equal(t, string(entries[i].Line), string(line))
	}
	var first map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes()[:bytes.IndexByte(b.Bytes(), '\n')], &first))
	assert.Equal(t, "Bay 3", first["station"])
	assert.Equal(t, "2026-03-02T09:00:00.000+01:00", first["at"])
	assert.Equal(t, entries[0].Hash.String(), first["hash"])
}

func TestEntriesAsTable(t *testing.T) {
	entries := played(t, 2, day(0), 2)
	var b bytes.Buffer
	require.NoError(t, WriteEntries(&b, CSV, clinic(), each(entries)))
	rows := table(t, b.Bytes())
	require.Len(t, rows, len(entries))
	var names []string
	for _, c := range EntryColumns() {
		require.NotEmpty(t, c.About)
		names = append(names, c.Name)
	}
	assert.Equal(t, strings.Join(names, ","), lines(b.String())[0])
	for i, r := range rows {
		var e coach.Entry
		require.NoError(t, json.Unmarshal(entries[i].Line, &e))
		require.Equal(t, string(e.Kind), r["kind"])
		if e.Data == nil {
			require.Empty(t, r["data"])
			continue
		}
		data, err := json.Marshal(e.Data)
		require.NoError(t, err)
		require.JSONEq(t, string(data), r["data"])
	}
}

func TestSetsAndSessionsAsTables(t *testing.T) {
	c := chart(t)
	var b bytes.Buffer
	require.NoError(t, WriteSets(&b, CSV, clinic(), each(c.Sessions)))
	rows := table(t, b.Bytes())
	require.Len(t, rows, c.Sessions[0].sets()+c.Sessions[1].sets())
	assert.Equal(t, "2.5", rows[0]["load_kg"])
	assert.Equal(t, "10", rows[0]["led_reps"])
	assert.Equal(t, "2", rows[0]["reserve_low_reps"], "no cell that a spreadsheet takes for a date")
	assert.Equal(t, "4", rows[0]["reserve_high_reps"])
	assert.Equal(t, "60.000", rows[0]["rest_s"])
	assert.Equal(t, "5.000", rows[0]["tap_mean_s"])
	pounds := rows[3]
	assert.Equal(t, "5 lb", pounds["load"])
	assert.Equal(t, "2.26796185", pounds["load_kg"], "1 lb is 0.45359237 kg by definition")
	assert.Empty(t, rows[2]["load_kg"], "a band has no mass")

	b.Reset()
	require.NoError(t, WriteSessions(&b, CSV, clinic(), nil, each(c.Sessions)))
	rows = table(t, b.Bytes())
	require.Len(t, rows, 2)
	assert.Equal(t, "completed", rows[0]["outcome"])
	assert.Equal(t, "52", rows[0]["led_reps"])
	assert.Equal(t, "72.6796185", rows[0]["volume_kg"], "20 × 2.5 kg and 10 × 5 lb")
	assert.Equal(t, "100", rows[0]["pace_kept_percent"])
	assert.Equal(t, "stopped", rows[1]["outcome"])
	assert.NotEmpty(t, rows[1]["symptom"])
	assert.Equal(t, "true", rows[0]["warmed_up"])
}

func TestLinesHaveTheColumnsAsKeys(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteSets(&b, JSONL, clinic(), each(chart(t).Sessions)))
	var row map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes()[:bytes.IndexByte(b.Bytes(), '\n')], &row))
	for _, c := range SetColumns() {
		require.Contains(t, row, c.Name)
	}
	assert.InDelta(t, 2.5, row["load_kg"], 0)
	assert.Equal(t, "2.5 kg", row["load"])

	b.Reset()
	require.NoError(t, WriteSessions(&b, JSONL, clinic(), nil, each([]Session{{Session: &review.Session{ID: "s"}}})))
	require.NoError(t, json.Unmarshal(b.Bytes(), &row))
	require.Contains(t, row, "start")
	assert.Nil(t, row["start"], "no clock, no time")
}

// No cell that people typed begins a formula, and none breaks its row.
func TestNoCellBeginsAFormula(t *testing.T) {
	for _, bad := range []string{`=HYPERLINK("http://x","y")`, "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "\n=1", `a","b`, "a\r\nb", "|cmd"} {
		s := Session{Session: &review.Session{ID: "1", Tag: "K4"}, Station: bad}
		var b bytes.Buffer
		require.NoError(t, WriteSessions(&b, CSV, clinic(), nil, each([]Session{s})))
		got := table(t, b.Bytes())
		require.Len(t, got, 1, "%q", bad)
		cell := got[0]["station"]
		assert.NotContains(t, "=+-@\t\r\n|", cell[:1], "%q", bad)
		assert.Equal(t, strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(bad), strings.TrimPrefix(cell, "'"), "nothing of it is lost")
	}
	b := new(bytes.Buffer)
	require.NoError(t, write(b, CSV, []column[int]{{Column{"n", "a number"}, func(n int) any { return n }}}, each([]int{-3}), nil))
	assert.Equal(t, "n\r\n-3\r\n", b.String(), "a number keeps its sign")
}

func TestTableEndsAtTheFirstError(t *testing.T) {
	broken := errors.New("the store is gone")
	rows := func(yield func(Session, error) bool) { yield(Session{}, broken) }
	require.ErrorIs(t, WriteSets(&bytes.Buffer{}, CSV, clinic(), rows), broken)
	require.Error(t, WriteSets(&bytes.Buffer{}, "xlsx", clinic(), rows))
	_, err := ParseFormat("xlsx")
	require.Error(t, err)
}
