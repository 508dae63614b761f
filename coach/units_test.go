package coach_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

func TestSampleOfATime(t *testing.T) {
	for _, tc := range []struct {
		d    time.Duration
		rate coach.Rate
		want coach.Samples
	}{
		{0, 48000, 0},
		{time.Second, 48000, 48000},
		{10416, 48000, 0}, // just under half a sample
		{10417, 48000, 1}, // just over
		{-time.Second, 48000, -48000},
		{100 * time.Hour, 48000, 17280000000},
		{290 * 365 * 24 * time.Hour, 192000, 290 * 365 * 24 * 3600 * 192000},
	} {
		assert.Equal(t, tc.want, tc.rate.At(tc.d), "%v at %d", tc.d, tc.rate)
	}
}

func TestSecondsAreWrittenWithThreeDecimals(t *testing.T) {
	for d, want := range map[time.Duration]string{
		2 * time.Second: "2.000", 1999999999: "2.000", 1500 * time.Microsecond: "0.002", -1250 * time.Millisecond: "-1.250", 0: "0.000",
	} {
		assert.Equal(t, want, coach.Seconds(d).String())
	}
}

func TestDays(t *testing.T) {
	_, err := coach.ParseDay("2026-02-30")
	require.Error(t, err)
	d, err := coach.ParseDay("2026-02-28")
	require.NoError(t, err)
	assert.Equal(t, coach.Day("2026-03-01"), d.AddDays(1))
	assert.Equal(t, 31, d.DaysUntil("2026-03-31"))
}

func TestLoads(t *testing.T) {
	for _, s := range []string{"2.5 kg", "5 lb", "0.25 kg", "band 2", "body", "12.125 lb"} {
		l, err := coach.ParseLoad(s)
		require.NoError(t, err, s)
		assert.Equal(t, s, l.String())
	}
	for _, s := range []string{"", "2.5", "0 kg", "-1 kg", "2.5kg", "2.5 stone", "band 0", "band red", "1e3 kg", "nan kg", "2.1234 kg", ".5 kg", "5. kg", "body 2"} {
		_, err := coach.ParseLoad(s)
		assert.Error(t, err, s)
	}
	// UCUM: [lb_av] is exactly 0.45359237 kg.
	lb, _ := coach.ParseLoad("100 lb")
	assert.InDelta(t, 45359.237, lb.Grams(), 1e-9)
}

func FuzzParseLoad(f *testing.F) {
	f.Add("2.5 kg")
	f.Add("band 2")
	f.Fuzz(func(t *testing.T, s string) {
		l, err := coach.ParseLoad(s)
		if err != nil {
			return
		}
		again, err := coach.ParseLoad(l.String())
		if err != nil || again != l {
			t.Fatalf("%q reads as %v, which reads as %v (%v)", s, l, again, err)
		}
	})
}

func TestEntryComesBackAsItWas(t *testing.T) {
	wall := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	tap := coach.Samples(48123)
	for _, data := range []struct {
		kind coach.EntryKind
		data any
	}{
		{coach.EntryRep, &coach.RepData{Confirmed: true, TapSample: &tap}},
		{coach.EntryEffort, &coach.EffortData{Reserve: coach.ReserveFew}},
		{coach.EntryItemStart, &coach.ItemStartData{Load: coach.Dumbbell(2500, coach.Kilogram), Reps: 10, Sets: 1, Stage: "plain", Sides: coach.BothSides}},
		{coach.EntryPause, nil},
	} {
		e := coach.Entry{Epoch: "e", Seq: 3, Boot: "b", MonoNS: 5, Wall: &wall, Sample: 7, Session: "s", Kind: data.kind,
			Tag: "K4", Item: 1, Exercise: "row", Set: 1, Rep: 2, Side: coach.Left, Data: data.data}
		b, err := json.Marshal(e)
		require.NoError(t, err)
		var back coach.Entry
		require.NoError(t, json.Unmarshal(b, &back))
		assert.Equal(t, e, back)
	}
}
