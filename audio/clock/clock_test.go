package clock

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

const (
	rate  = 48000
	block = 10 * time.Millisecond
)

// device is a made-up sound card: its crystal is out by a share, and what it
// says of its delay is late by a random time.
type device struct {
	drift  float64
	jitter time.Duration
	coarse int64 // it moves on in steps of so many samples
	start  time.Duration
	random *rand.Rand
}

// truth is what is really heard at t.
func (d *device) truth(t time.Duration) float64 {
	return (t - d.start).Seconds() * rate * (1 + d.drift)
}

// sight gives a clock what the device says at t, of 80 ms under way.
func (d *device) sight(c *Clock, t time.Duration) {
	late := time.Duration(0)
	if d.jitter > 0 {
		late = time.Duration(d.random.Int64N(int64(d.jitter)))
	}
	heard := max(0, int64(d.truth(t-late)))
	heard -= heard % max(1, d.coarse)
	written := int64(d.truth(t)) + rate*80/1000
	c.Add(t, written, written-heard)
}

func TestHeardIsNearTheTruth(t *testing.T) {
	for _, c := range []struct {
		name   string
		drift  float64
		jitter time.Duration
		coarse int64
		within time.Duration // of the truth less its mean lateness
	}{
		{"exact", 0, 0, 1, 50 * time.Microsecond},
		{"fast by 100 in a million", 100e-6, 0, 1, 50 * time.Microsecond},
		{"slow by 300 in a million", -300e-6, 0, 1, 50 * time.Microsecond},
		{"jitter of 2 ms", 0, 2 * time.Millisecond, 1, 500 * time.Microsecond},
		{"jitter of 8 ms and drift", 50e-6, 8 * time.Millisecond, 1, 2 * time.Millisecond},
		{"in periods of 20 ms", 0, 0, rate * 20 / 1000, 3 * time.Millisecond},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := &device{drift: c.drift, jitter: c.jitter, coarse: c.coarse,
				start: 5000 * time.Hour, random: rand.New(rand.NewPCG(1, 2))}
			mean := float64(c.jitter)/2 + float64(max(0, c.coarse-1))/rate*float64(time.Second)/2
			k := New(rate)
			worst := 0.0
			for i := range 3000 {
				now := d.start + 100*time.Millisecond + time.Duration(i)*block
				now += time.Duration(d.random.Int64N(int64(block))) // blocks are not asked for evenly
				d.sight(k, now)
				if i > 200 { // a press is a little in the past, at any moment
					at := now - time.Duration(i%17)*time.Millisecond
					off := float64(k.Heard(at)) - d.truth(at-time.Duration(mean))
					worst = max(worst, math.Abs(off))
				}
			}
			assert.Less(t, time.Duration(worst/rate*float64(time.Second)), c.within)
			assert.InDelta(t, rate*(1+c.drift), k.Rate(), rate*c.within.Seconds()*2)
			assert.LessOrEqual(t, k.Residual(), c.jitter+time.Duration(c.coarse)*time.Second/rate+100*time.Microsecond)
		})
	}
}

func TestHeardFromTheFirstSighting(t *testing.T) {
	k := New(rate)
	assert.EqualValues(t, 0, k.Heard(time.Hour), "before any sighting")
	k.Add(time.Second, 4800, 3840)
	assert.EqualValues(t, 960, k.Heard(time.Second))
	assert.EqualValues(t, 960+480, k.Heard(time.Second+block), "the nominal rate until it knows better")
	assert.EqualValues(t, 960-480, k.Heard(time.Second-block))
	assert.EqualValues(t, 0, k.Heard(0), "nothing is heard before the first sample")
	assert.EqualValues(t, 4800, k.Heard(time.Hour), "nor what was not written")
}

func TestADeviceThatHasNotStartedDoesNotBendTheLine(t *testing.T) {
	k := New(rate)
	for i := range 5 { // it fills up and stands still
		k.Add(time.Duration(i)*time.Millisecond, int64(i+1)*480, int64(i+1)*480)
	}
	for i := range 50 {
		at := 4*time.Millisecond + time.Duration(i)*block
		k.Add(at, int64(i)*480+2400, 2400)
		assert.EqualValues(t, i*480, k.Heard(at))
	}
	assert.Zero(t, k.Residual())
}

func TestAFewJitteryPointsDoNotBendTheRate(t *testing.T) {
	k := New(rate)
	for i := range 50 { // half a second
		k.Add(time.Duration(i)*block, int64(i)*490+3840, 3840) // seems 2 % fast
	}
	assert.EqualValues(t, rate, k.Rate())
	for i := 50; i < 200; i++ {
		k.Add(time.Duration(i)*block, int64(i)*490+3840, 3840)
	}
	assert.InDelta(t, rate*1.002, k.Rate(), 1e-6, "and no crystal is out by 2 %")
}

func TestADeviceThatRanDryIsBelievedAnew(t *testing.T) {
	k := New(rate)
	d := &device{coarse: 1}
	for i := range 300 {
		d.sight(k, time.Duration(i)*block)
	}
	gap := 250 * time.Millisecond // of silence, in which nothing was played
	d.start = gap
	now := 300*block + gap
	d.sight(k, now)
	assert.InDelta(t, d.truth(now), float64(k.Heard(now)), 1)
	assert.Zero(t, k.Residual())
}

func TestRestartHoldsUntilTheNextSighting(t *testing.T) {
	k := New(rate)
	for i := range 300 {
		k.Add(time.Duration(i)*block, int64(i)*480+3840, 3840)
	}
	k.Restart(144000)
	for _, at := range []time.Duration{0, 3 * time.Second, time.Hour} {
		assert.EqualValues(t, 144000, k.Heard(at))
	}
	k.Add(10*time.Second, 144480, 480)
	assert.EqualValues(t, 144000, k.Heard(10*time.Second))
	assert.EqualValues(t, 144240, k.Heard(10*time.Second+block/2))
	assert.EqualValues(t, 144000, k.Heard(9*time.Second), "what was heard before the restart is not unheard")
}

func TestADeviceWithoutTimeHasHeardAllItWasGiven(t *testing.T) {
	k := New(0)
	k.Add(time.Second, 4800, 0)
	assert.EqualValues(t, 4800, k.Heard(time.Second))
	assert.EqualValues(t, 4800, k.Heard(time.Hour))
	k.Add(2*time.Second, 9600, 0)
	assert.EqualValues(t, 9600, k.Heard(2*time.Second))
	assert.Zero(t, k.Residual())
}

func TestAFastSilentClock(t *testing.T) {
	k := New(100 * rate)
	for i := range 500 {
		k.Add(time.Duration(i)*block/100, int64(i)*480+3840, 3840)
	}
	assert.InDelta(t, 499*480+240, k.Heard(499*block/100+block/200), 1)
}

func BenchmarkAdd(b *testing.B) {
	k := New(rate)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		k.Add(time.Duration(i)*block, int64(i)*480+3840, 3840)
	}
}
