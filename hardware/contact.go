package hardware

import (
	"context"
	"fmt"
	"time"

	"periph.io/x/conn/v3/gpio"
)

// recheck is how often a quiet pin's level is read again, should an edge have
// been missed.
const recheck = 100 * time.Millisecond

// contact is the debouncing of one switch. Its goroutine alone uses it.
type contact struct {
	Contact
	box  *Buttons
	send func(Press)

	down     bool          // when last it was known
	settling bool          // bouncing, perhaps, until it is known again
	until    time.Duration // when the bouncing is over, or was; no edge before that is a press
	since    time.Duration // the edge that began it
	seen     bool          // down after its last bounce
}

// begin asks for the pin's edges and reads its level, so that whatever happens
// from then on is noticed.
func (c *contact) begin() error {
	if err := c.Pin.In(c.Pull, gpio.BothEdges); err != nil {
		return c.broken(err)
	}
	c.down = c.read()
	c.box.note(c, c.down, c.box.now()-StuckAfter)
	return c.fault()
}

// watch is the goroutine of one contact.
func (c *contact) watch(ctx context.Context, send func(Press)) error {
	defer context.AfterFunc(ctx, func() { c.Pin.Halt() })() // ends a wait for an edge
	c.send = send
	if c.down && c.Control == Stop {
		c.send(Press{c.Control, c.box.now()})
	}
	for ctx.Err() == nil {
		edge := c.Pin.WaitForEdge(c.patience())
		if err := c.fault(); err != nil || ctx.Err() != nil {
			return err
		}
		if edge {
			c.edge(c.last())
		} else {
			c.quiet()
		}
	}
	return nil
}

// patience is how long to wait for the next edge.
func (c *contact) patience() time.Duration {
	if c.settling {
		return max(0, c.until-c.box.now())
	}
	return recheck
}

// edge is an edge at a time, after which the contact was down or not.
func (c *contact) edge(down bool, at time.Duration) {
	if at < c.until {
		c.seen = down
		return
	}
	if c.settling { // and this one waited while the program was elsewhere
		c.settle(c.seen)
	}
	if !c.down {
		c.send(Press{c.Control, at})
	}
	c.settling, c.since, c.until, c.seen = true, at, at+Lockout, down
}

// quiet is a while without an edge.
func (c *contact) quiet() {
	down := c.read()
	switch {
	case c.settling && c.box.now() >= c.until:
		c.settle(down)
	case !c.settling && down != c.down: // an edge was missed
		c.edge(down, c.box.now())
	}
}

func (c *contact) settle(down bool) {
	c.settling, c.down = false, down
	c.box.note(c, down, c.since)
}

func (c *contact) read() bool { return c.Pin.Read() == c.Pressed }

// last is the last edge: whether the contact was down after it, and when.
func (c *contact) last() (down bool, at time.Duration) {
	if timed, ok := c.Pin.(TimedPin); ok {
		level, at := timed.Edge()
		return level == c.Pressed, at
	}
	return c.read(), c.box.now()
}

// fault is what broke the pin.
func (c *contact) fault() error {
	if timed, ok := c.Pin.(TimedPin); ok && timed.Err() != nil {
		return c.broken(timed.Err())
	}
	return nil
}

func (c *contact) broken(err error) error {
	return fmt.Errorf("watching pin %s for %s: %w", c.Pin.Name(), c.Control, err)
}
