package clinic

import (
	"sync"
	"time"
)

// Clock is a desk's clock that goes through the past and then keeps real time.
// It may be used by several goroutines.
type Clock struct {
	mu sync.Mutex
	at time.Time // zero: real time
}

// Now is the time by this clock.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.at.IsZero() {
		return time.Now()
	}
	return c.at
}

// Set stops the clock at a moment.
func (c *Clock) Set(at time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = at
}

// Free lets the clock keep real time from now on.
func (c *Clock) Free() { c.Set(time.Time{}) }
