package coach_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

func TestTimeOfDay(t *testing.T) {
	for _, s := range []string{"00:00", "09:10", "23:59"} {
		c, err := coach.ParseTimeOfDay(s)
		require.NoError(t, err)
		assert.Equal(t, coach.TimeOfDay(s), c)
	}
	for _, s := range []string{"", "9:10", "24:00", "09:60", "09:10:00", "noon", " 09:10"} {
		_, err := coach.ParseTimeOfDay(s)
		assert.Error(t, err, s)
	}
	assert.Equal(t, 550, coach.TimeOfDay("09:10").Minutes())
	assert.Equal(t, -1, coach.TimeOfDay("").Minutes())
	assert.Equal(t, coach.TimeOfDay("09:10"), coach.TimeOfDayAt(time.Date(2026, 3, 2, 9, 10, 59, 0, time.UTC)))
}

func TestMinutesUntil(t *testing.T) {
	for _, row := range []struct {
		wait time.Duration
		want int
	}{
		{-time.Hour, 0}, {0, 0}, {29 * time.Second, 0}, {30 * time.Second, 1}, {89 * time.Second, 1}, {90 * time.Second, 2}, {10 * time.Minute, 10},
	} {
		assert.Equal(t, row.want, coach.MinutesUntil(row.wait), "%v", row.wait)
	}
}

// A wait is told in minutes where it is near and the clock is known, and by the
// clock where it is not.
func TestNextSays(t *testing.T) {
	start := time.Date(2026, 3, 2, 9, 0, 30, 0, time.FixedZone("", 3600))
	n := coach.Next{Place: "the mat", At: "09:10"}.From(start)
	assert.Equal(t, 9*time.Minute+30*time.Second, n.Free)
	late := time.Date(2026, 3, 2, 23, 55, 0, 0, time.UTC)
	assert.Equal(t, 10*time.Minute, coach.Next{Place: "the mat", At: "00:05"}.From(late).Free)
	for _, row := range []struct {
		n    coach.Next
		now  time.Duration
		want coach.Phrase
	}{
		{n, 0, coach.Phrase{When: coach.WhenSoon, Seconds: 600}},
		{n, 8*time.Minute + 30*time.Second, coach.Phrase{When: coach.WhenSoon, Seconds: 60}},
		{n, 9*time.Minute + 20*time.Second, coach.Phrase{When: coach.WhenNow}},
		{n, time.Hour, coach.Phrase{When: coach.WhenNow}},
		{n, -time.Hour, coach.Phrase{When: coach.WhenAt, N: 550}},
		{coach.Next{Place: "the mat", At: "09:10"}, time.Hour, coach.Phrase{When: coach.WhenAt, N: 550}},
		{coach.Next{Place: "the mat"}.From(start), 0, coach.Phrase{}},
	} {
		row.want.ID, row.want.Name = coach.SayNext, "the mat"
		assert.Equal(t, row.want, row.n.Says(row.now))
	}
}
