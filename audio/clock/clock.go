// Package clock tells which sample is being heard at a moment.
//
// What was written to a device is not yet heard, and a device's own word on
// its delay is coarse and late. So a [Clock] collects sightings (at time t, so
// many samples had been heard) over a short window and lays a straight line
// through them by least squares. The line's slope is the device's true rate,
// which is near the nominal one and never quite it.
//
// The package is pure: times come from the caller, who must use one clock for
// sightings and questions (CLOCK_MONOTONIC, counted from whenever it likes).
// Invariants: no sample is reported as heard before it was written; an
// allocation is never made after New; a device that stood still or jumped is
// believed anew within one sighting.
package clock

import (
	"math"
	"time"
)

// window is how many sightings the line is laid through: at one a block of
// ten milliseconds about two and a half seconds, over which the jitter of
// single sightings averages out and the drift of a crystal does not show.
const window = 256

// leastSpan is the shortest stretch from which a slope is computed; over less
// than that the jitter would say more than the rate does.
const leastSpan = time.Second

// widest is how far the slope may be from the nominal rate, as a share of it.
// Crystals are out by less than a ten-thousandth (from memory); a sound
// server that resamples to another clock by not much more.
const widest = 0.002

// jump is how far a sighting may lie off the line before the line is given up:
// the device ran dry, slept or changed its mind about its delay.
const jump = 20 * time.Millisecond

// Clock is a line through what was seen of a device. It is not safe for use
// by several goroutines at once.
type Clock struct {
	rate    float64 // nominal, samples a second; 0 for a device without time
	seen    [window]sighting
	count   int   // sightings in the ring, at most window
	next    int   // where the next one goes
	written int64 // nothing beyond this can have been heard
	floor   int64 // nothing before this is reported again
	line    line
}

// sighting is how many samples had been heard at a time.
type sighting struct {
	at    time.Duration
	heard int64
}

// line says that sample heard + slope·(t − at) is being heard at t.
type line struct {
	at    time.Duration
	heard float64
	slope float64 // samples a nanosecond
}

// New makes a clock for a device of so many samples a second: the sink's rate
// times its speed, or 0 for one that plays as fast as it is written to.
func New(rate float64) *Clock { return &Clock{rate: rate} }

// Add takes a sighting: at time t, written samples had been given to the
// device (those it dropped not counted), delay of which were yet to be heard.
// Sightings come in the order of their times. A device takes a while to say
// its delay: t is best the middle between just before and just after.
func (c *Clock) Add(t time.Duration, written, delay int64) {
	c.written = written
	heard := max(written-delay, 0)
	waiting := c.count == 1 && heard == c.seen[0].heard // it has not started
	if waiting || c.count > 0 && c.rate > 0 && c.off(sighting{t, heard}) > jump {
		c.count, c.next = 0, 0
	}
	c.seen[c.next] = sighting{t, heard}
	c.next = (c.next + 1) % window
	c.count = min(c.count+1, window)
	c.line = c.fit()
}

// Restart forgets all sightings, as after a drop: heard samples are out, none
// is under way, and the device stands still until the next sighting.
func (c *Clock) Restart(heard int64) {
	c.count, c.next = 0, 0
	c.written, c.floor = heard, heard
}

// Heard is the sample that was being heard at time t, which may lie before or
// after the sightings: the number of samples heard until then, at least what
// Restart was told and at most what was written.
func (c *Clock) Heard(t time.Duration) int64 {
	if c.count == 0 {
		return c.floor
	}
	h := int64(math.Floor(c.line.heard + c.line.slope*float64(t-c.line.at)))
	return max(c.floor, min(h, c.written))
}

// Residual is how far the sightings in the window lie from the line, as the
// root of their mean square: the trust that a position deserves. It is 0 with
// fewer than two sightings.
func (c *Clock) Residual() time.Duration {
	if c.rate == 0 || c.count == 0 {
		return 0
	}
	var sum float64
	for _, s := range c.window() {
		off := float64(c.off(s))
		sum += off * off
	}
	return time.Duration(math.Sqrt(sum / float64(c.count)))
}

// Rate is the device's rate as the line has it, in samples a second.
func (c *Clock) Rate() float64 {
	if c.count == 0 {
		return c.rate
	}
	return c.line.slope * float64(time.Second)
}

// window is the sightings there are, in no particular order.
func (c *Clock) window() []sighting { return c.seen[:c.count] }

// off is how long before or after the line a sighting came.
func (c *Clock) off(s sighting) time.Duration {
	samples := float64(s.heard) - c.line.heard - c.line.slope*float64(s.at-c.line.at)
	return time.Duration(math.Abs(samples) / c.rate * float64(time.Second))
}

// fit lays the line of least squares through the window, about its mean. Sums
// are taken relative to one sighting, so that they keep their precision however
// long the device has been playing.
func (c *Clock) fit() line {
	last := c.seen[(c.next+window-1)%window]
	nominal := c.rate / float64(time.Second)
	if c.rate == 0 {
		return line{at: last.at, heard: float64(last.heard)}
	}
	n := float64(c.count)
	var sumT, sumH float64
	earliest := last.at
	for _, s := range c.window() {
		sumT += float64(s.at - last.at)
		sumH += float64(s.heard - last.heard)
		earliest = min(earliest, s.at)
	}
	meanT, meanH := sumT/n, sumH/n
	slope := nominal
	if last.at-earliest >= leastSpan {
		slope = c.slope(last, meanT, meanH)
		slope = max(nominal*(1-widest), min(slope, nominal*(1+widest)))
	}
	return line{
		at:    last.at + time.Duration(meanT),
		heard: float64(last.heard) + meanH,
		slope: slope,
	}
}

// slope is that of least squares, of times and positions relative to last.
func (c *Clock) slope(last sighting, meanT, meanH float64) float64 {
	var cov, spread float64
	for _, s := range c.window() {
		dt := float64(s.at-last.at) - meanT
		cov += dt * (float64(s.heard-last.heard) - meanH)
		spread += dt * dt
	}
	return cov / spread
}
