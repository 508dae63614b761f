package coach

import (
	"fmt"
	"math/bits"
	"strconv"
	"time"
)

// Samples is a position on the sample clock, counted from the first sample of
// the session, or a length on it.
type Samples int64

// Rate is a number of samples a second.
type Rate int

// SessionRate is the rate at which sessions run and sound is written.
const SessionRate Rate = 48000

// At is the sample nearest to d, computed in whole numbers: halves go up.
// It is exact for any non-negative duration Go can hold and any rate up to a
// million, so a position computed from its origin never drifts.
func (r Rate) At(d time.Duration) Samples {
	if d < 0 {
		return -r.At(-d)
	}
	hi, lo := bits.Mul64(uint64(d), uint64(r))
	lo, carry := bits.Add64(lo, uint64(time.Second)/2, 0)
	quo, _ := bits.Div64(hi+carry, lo, uint64(time.Second))
	return Samples(quo)
}

// Time is how long n samples take at SessionRate.
func (n Samples) Time() time.Duration { return SessionRate.Duration(n) }

// Duration is the time n samples take, to the nanosecond below.
func (r Rate) Duration(n Samples) time.Duration {
	if n < 0 {
		return -r.Duration(-n)
	}
	hi, lo := bits.Mul64(uint64(n), uint64(time.Second))
	quo, _ := bits.Div64(hi, lo, uint64(r))
	return time.Duration(quo)
}

// Seconds is a time as the log and the cue sheet write it: seconds with three
// decimals, formed in whole numbers so that it is the same on every machine.
type Seconds time.Duration

// String writes s as seconds with exactly three decimals, such as "2.000".
func (s Seconds) String() string {
	ms := (time.Duration(s) + time.Millisecond/2).Milliseconds()
	if s < 0 {
		ms = (time.Duration(s) - time.Millisecond/2).Milliseconds()
	}
	sign := ""
	if ms < 0 {
		sign, ms = "-", -ms
	}
	return fmt.Sprintf("%s%d.%03d", sign, ms/1000, ms%1000)
}

// MarshalJSON writes s as a JSON number with three decimals.
func (s Seconds) MarshalJSON() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalJSON reads a JSON number of seconds.
func (s *Seconds) UnmarshalJSON(b []byte) error {
	f, err := strconv.ParseFloat(string(b), 64)
	if err != nil {
		return fmt.Errorf("reading seconds: %w", err)
	}
	*s = Seconds(f * float64(time.Second))
	return nil
}

// Day is a calendar day written YYYY-MM-DD; days compare as strings do. The
// empty Day means none was given.
type Day string

// ParseDay reads a calendar day and refuses one that does not exist.
func ParseDay(s string) (Day, error) {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return "", fmt.Errorf("%q is not a calendar day; write it as 2026-03-02", s)
	}
	return Day(s), nil
}

// DayOf is the calendar day of t in t's own time zone.
func DayOf(t time.Time) Day { return Day(t.Format(time.DateOnly)) }

// Time is midnight UTC at the start of the day; the zero time for no day.
func (d Day) Time() time.Time {
	t, err := time.Parse(time.DateOnly, string(d))
	if err != nil {
		return time.Time{}
	}
	return t
}

// AddDays is the day n days later.
func (d Day) AddDays(n int) Day { return DayOf(d.Time().AddDate(0, 0, n)) }

// DaysUntil is the number of days from d to e, negative if e is earlier.
func (d Day) DaysUntil(e Day) int { return int(e.Time().Sub(d.Time()) / (24 * time.Hour)) }
