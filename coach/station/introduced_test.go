package station_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/hardware"
)

// await waits until the log says so, and presses nothing.
func (d *device) await(done func([]coach.Entry) bool) []coach.Entry {
	d.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		if es := d.entries(); done(es) {
			return es
		}
	}
	d.t.Fatalf("it never came to that; the log has %d entries", len(d.entries()))
	return nil
}

func times(k coach.EntryKind, n int) func([]coach.Entry) bool {
	return func(es []coach.Entry) bool { return count(es, k) >= n }
}

func practised(b coach.Button) func([]coach.Entry) bool {
	return func(es []coach.Entry) bool {
		for _, e := range es {
			if p, ok := e.Data.(*coach.PracticeData); ok && p.Button == b {
				return true
			}
		}
		return false
	}
}

// tryRed goes through the introduction up to the red button, and presses it
// while it is asked for. It reports whether it was in time: on a slow machine
// the moment may have passed, and red is meant then.
func (d *device) tryRed() bool {
	d.press(times(coach.EntrySessionStart, 1), hardware.Tap)
	d.press(practised(coach.Minus), hardware.Tap, hardware.Plus, hardware.Minus)
	const praised = 100 * time.Millisecond // "Good." has been said by then
	for !practised(coach.Hold)(d.entries()) {
		time.Sleep(praised)
		d.box.Press(hardware.Hold, hardware.Now())
		time.Sleep(praised)
	}
	d.box.Press(hardware.Stop, hardware.Now())
	es := d.await(func(es []coach.Entry) bool { return practised(coach.Stop)(es) || count(es, coach.EntryStop) > 0 })
	return practised(coach.Stop)(es)
}

// The first time a tag is coached here the sounds and buttons are introduced,
// with red for practice, which is no stop; then the session goes on. The next
// time there is no introduction, until somebody asks for it.
func TestDeviceIntroducesItself(t *testing.T) {
	var d *device
	for inTime, n := false, 0; !inTime; n++ {
		require.Less(t, n, 8, "red could never be pressed in time")
		d = newDevice(t, planFile(t, nil))
		d.cfg.Intro, d.cfg.Speed = true, 20
		d.start()
		if inTime = d.tryRed(); !inTime {
			require.NoError(t, d.stop())
		}
	}
	es := d.press(times(coach.EntrySessionEnd, 1), hardware.Minus) // the first question comes, and nobody is well
	assert.Zero(t, count(es, coach.EntryStop))
	assert.Equal(t, coach.NotStarted, outcome(es))
	assert.Equal(t, 1, count(es, coach.EntryQuestion))
	practices := count(es, coach.EntryPractice)
	assert.Equal(t, 5, practices)
	require.NoError(t, d.stop())

	d.start() // another start of the program: the log knows the tag
	d.press(times(coach.EntrySessionStart, 2), hardware.Tap)
	es = d.press(times(coach.EntrySessionEnd, 2), hardware.Minus)
	assert.Equal(t, practices, count(es, coach.EntryPractice), "once is enough")

	for !times(coach.EntrySessionStart, 3)(d.entries()) { // asked for again
		d.box.Press(hardware.Hold, hardware.Now())
		d.box.Press(hardware.Hold, hardware.Now())
		time.Sleep(100 * time.Millisecond)
	}
	d.press(times(coach.EntryPractice, practices+1), hardware.Tap)
	require.NoError(t, d.stop())
	d.verify()
}

// Nobody has to answer the introduction: each step moves on, and only the
// question after it waits.
func TestDeviceIntroductionMovesOn(t *testing.T) {
	d := newDevice(t, planFile(t, nil))
	d.cfg.Intro = true
	d.start()
	d.press(times(coach.EntrySessionStart, 1), hardware.Tap)
	es := d.await(times(coach.EntryNoAnswer, 1))
	require.NoError(t, d.stop())
	assert.Zero(t, count(es, coach.EntryStop))
	for _, e := range es {
		if n, ok := e.Data.(*coach.NoAnswerData); ok {
			assert.Equal(t, coach.QuestionWell, n.Waiting)
		}
	}
}
