package station

import (
	"time"

	"evenbell/coach/player"
	"evenbell/coach/strict"
)

// LowestCeilingDB is as low as a ceiling goes, for the stop signal and its
// instruction are under it as everything else. It is the quietest a person can
// choose; common practice, no source.
const LowestCeilingDB = -18.0

// Ceiling is how loud a clinic lets a station be, against the reference level.
type Ceiling struct {
	DB          *float64 // at any hour; nil for none
	QuietDB     *float64 // in the quiet hours as well; nil where there are none
	From, Until Clock    // the quiet hours, over midnight where Until is not later
}

// Clock is a time of day, in minutes from midnight.
type Clock int

// ClockOf is the time of day of t where t is.
func ClockOf(t time.Time) Clock { return Clock(60*t.Hour() + t.Minute()) }

// quiet reports whether a time of day falls into the quiet hours: From
// itself does, Until does not.
func (c Ceiling) quiet(at Clock) bool {
	if c.From < c.Until {
		return c.From <= at && at < c.Until
	}
	return at >= c.From || at < c.Until
}

// At is the ceiling at the clinic's local time; nil for none. A session keeps
// the one it began with.
func (c Ceiling) At(local time.Time) *float64 {
	if c.QuietDB != nil && c.quiet(ClockOf(local)) {
		return c.quietest()
	}
	return c.DB
}

// quietest is the lowest of the ceilings; nil where there is none.
func (c Ceiling) quietest() *float64 {
	if c.DB == nil || c.QuietDB != nil && *c.QuietDB < *c.DB {
		return c.QuietDB
	}
	return c.DB
}

// readLevels reads how loud a station is and in which register it sounds.
func (c *Config) readLevels(t *strict.Table) {
	if v := readDB(t, "volume_db", QuietestDB); v != nil {
		c.VolumeDB = *v
	}
	c.Ceiling.DB = readDB(t, "volume_ceiling_db", LowestCeilingDB)
	c.Ceiling.QuietDB = readDB(t, "quiet_ceiling_db", LowestCeilingDB)
	var from, until bool
	c.Ceiling.From, from = readClock(t, "quiet_from")
	c.Ceiling.Until, until = readClock(t, "quiet_until")
	quiet := c.Ceiling.QuietDB != nil
	if quiet != from || quiet != until {
		t.Fault("quiet_ceiling_db", "quiet_from, quiet_until and quiet_ceiling_db belong together; all of them, or none")
	} else if quiet && c.Ceiling.From == c.Ceiling.Until {
		t.Fault("quiet_until", "is the same as quiet_from; for every hour of the day, volume_ceiling_db")
	}
	if v, ok := t.Int("register", strict.Optional); ok {
		c.Register = int(v)
		if v < 1 || v > player.Registers {
			t.Fault("register", "is %d; from 1 to %d", v, player.Registers)
		}
	}
}

// readDB reads a level against the reference; nil where it is not set.
func readDB(t *strict.Table, key string, lowest float64) *float64 {
	v, ok := t.Number(key, strict.Optional)
	if !ok {
		return nil
	}
	if !(v >= lowest && v <= LoudestDB) {
		t.Fault(key, "is %v; from %v to %v", v, lowest, LoudestDB)
	}
	return &v
}

// readClock reads a time of day such as "21:30".
func readClock(t *strict.Table, key string) (Clock, bool) {
	text, ok := t.Text(key, strict.Optional)
	if !ok {
		return 0, false
	}
	at, err := time.Parse("15:04", text)
	if err != nil {
		t.Fault(key, "%q is no time of day; one such as \"21:30\"", text)
	}
	return ClockOf(at), true
}
