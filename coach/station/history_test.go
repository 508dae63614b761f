package station

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"evenbell/coach"
	"evenbell/coach/session"
)

// A start after a power cut names the session it broke off. When that was does
// not change by it, however often the power comes and goes.
func TestAPowerCutIsAsLongAgoAsTheSession(t *testing.T) {
	cut := time.Date(2026, 3, 3, 23, 50, 0, 0, time.UTC)
	at := func(after time.Duration, k coach.EntryKind, data any) coach.Entry {
		wall := cut.Add(after)
		return coach.Entry{Session: "s", Tag: "K4", Kind: k, Data: data, Wall: &wall}
	}
	h := newHistory(time.UTC)
	h.add(at(-time.Minute, coach.EntrySessionStart, &coach.SessionStartData{}))
	h.add(at(0, coach.EntryRep, &coach.RepData{}))
	assert.False(t, h.broken.noted)
	h.add(at(time.Hour, coach.EntryFault, &coach.FaultData{Part: coach.PartPower}))
	assert.True(t, h.broken.noted)
	assert.Equal(t, coach.Day("2026-03-03"), h.day(h.broken.last), "it is offered on its own day alone")
	ago, known := h.broken.ago("", 0, cut.Add(time.Hour+time.Minute), true)
	assert.True(t, known)
	assert.Equal(t, 61*time.Minute, ago, "and only with a new warm-up")
}

// Every row is what the log says, and when it is now; the day is Wednesday, 4
// March 2026, at nine in the morning, and a day of rest lies between sessions.
func TestWhatKeepsSomebodyAtHomeFromExercise(t *testing.T) {
	wednesday := time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC)
	at := func(days int, k coach.EntryKind, data any) coach.Entry {
		wall := wednesday.AddDate(0, 0, days)
		return coach.Entry{Session: "s", Tag: "K4", Kind: k, Data: data, Wall: &wall, Boot: "b", MonoNS: int64(1000+24*days) * int64(time.Hour)}
	}
	undated := func(e coach.Entry, boot string) coach.Entry { e.Wall, e.Boot = nil, boot; return e }
	start := func(days int) coach.Entry { return at(days, coach.EntrySessionStart, &coach.SessionStartData{}) }
	rep := func(days int) coach.Entry { return at(days, coach.EntryRep, &coach.RepData{}) }
	end := func(days int, o coach.Outcome) coach.Entry {
		return at(days, coach.EntrySessionEnd, &coach.SessionEndData{Outcome: o})
	}
	stop := func(days int, tag string) coach.Entry {
		e := at(days, coach.EntryStop, nil)
		e.Tag = tag
		return e
	}
	known := present{day: "2026-03-04", known: true, wall: wednesday, boot: "b", mono: int64(1000 * time.Hour)}
	no := func(r coach.Refusal, in int) *session.NotToday {
		return &session.NotToday{Reason: r, Next: known.day.AddDays(in), In: in}
	}
	for name, row := range map[string]struct {
		log  []coach.Entry
		want *session.NotToday
		asks bool
	}{
		"nothing yet":                    {},
		"done two days ago":              {log: []coach.Entry{start(-2), rep(-2), end(-2, coach.Completed)}},
		"done yesterday":                 {log: []coach.Entry{start(-1), rep(-1), end(-1, coach.Completed)}, want: no(coach.RefusedRest, 1)},
		"done today":                     {log: []coach.Entry{start(0), rep(0), end(0, coach.FinishedEarly)}, want: no(coach.RefusedDone, 2)},
		"done today, nothing lifted":     {log: []coach.Entry{start(0), end(0, coach.Completed)}, want: no(coach.RefusedDone, 1)},
		"stopped today after work":       {log: []coach.Entry{start(0), rep(0), stop(0, "K4")}, want: no(coach.RefusedEnded, 2)},
		"and the box released":           {log: []coach.Entry{start(0), stop(0, "K4"), at(0, coach.EntryRelease, &coach.ReleaseData{})}, want: no(coach.RefusedEnded, 1)},
		"stopped yesterday before work":  {log: []coach.Entry{start(-1), stop(-1, "K4"), end(-1, coach.Stopped)}},
		"a stop between sessions":        {log: []coach.Entry{stop(0, "")}, want: no(coach.RefusedEnded, 1)},
		"somebody else's":                {log: []coach.Entry{stop(0, "M2"), rep(0)}, want: no(coach.RefusedEnded, 2)},
		"not well today":                 {log: []coach.Entry{start(0), end(0, coach.NotStarted)}, want: no(coach.RefusedEnded, 1)},
		"nobody came, nothing lifted":    {log: []coach.Entry{start(0), end(0, coach.Abandoned)}},
		"nobody came, after work":        {log: []coach.Entry{start(0), rep(0), end(0, coach.Abandoned)}, want: no(coach.RefusedEnded, 2)},
		"cut off yesterday, never ended": {log: []coach.Entry{start(-1), rep(-1)}, want: no(coach.RefusedRest, 1)},
		"undated, on this boot":          {log: []coach.Entry{undated(rep(-1), "b")}, want: no(coach.RefusedRest, 1)},
		"undated, on another":            {log: []coach.Entry{undated(rep(-1), "a")}, asks: true},
		"by a clock that was ahead":      {log: []coach.Entry{rep(40)}, asks: true},
	} {
		h := newHistory(time.UTC)
		for _, e := range row.log {
			h.add(e)
		}
		got, asks := h.notToday("K4", &coach.Home{DaysBetween: 1}, known, "2026-04-01")
		assert.Equal(t, row.want, got, name)
		assert.Equal(t, row.asks, asks, name)
	}

	h := newHistory(time.UTC)
	h.add(rep(0))
	got, _ := h.notToday("K4", &coach.Home{DaysBetween: 1}, known, "2026-03-05")
	assert.Equal(t, &session.NotToday{Reason: coach.RefusedEnded, Last: true}, got, "no day of the plan is left")

	for hours, want := range map[int]*session.NotToday{11: {Reason: coach.RefusedEnded}, 40: {Reason: coach.RefusedRest}, 49: nil} {
		lost := present{day: "2026-03-02", boot: "b", mono: int64(1000+hours) * int64(time.Hour)}
		got, asks := h.notToday("K4", &coach.Home{DaysBetween: 2}, lost, "2026-04-01")
		assert.Equal(t, want, got, "%d hours", hours)
		assert.Equal(t, want == nil, asks, "%d hours", hours)
		lost.boot = "after a power cut"
		_, asks = h.notToday("K4", &coach.Home{DaysBetween: 2}, lost, "2026-04-01")
		assert.True(t, asks)
	}
}
