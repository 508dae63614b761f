package station_test

import (
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/hardware"
)

// dayClock is the machine's clock, some days on; without trust where it is lost.
type dayClock struct {
	mu   sync.Mutex
	days int
	lost bool
}

func (c *dayClock) Now() journal.Instant {
	c.mu.Lock()
	defer c.mu.Unlock()
	now := journal.SystemClock{}.Now()
	by := time.Duration(c.days) * 24 * time.Hour
	return journal.Instant{Mono: now.Mono + int64(by), Wall: now.Wall.Add(by), Trusted: !c.lost}
}

func (c *dayClock) Mono() int64 { return c.Now().Mono }

func (c *dayClock) set(days int, lost bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.days, c.lost = days, lost
}

// homeText is the short plan for one at home, for some days from today, with a
// day between sessions.
func homeText(days int) string {
	today := coach.DayOf(time.Now().UTC())
	text := strings.Replace(shortPlan, "DAY", string(today)+"\nuntil = "+string(today.AddDays(days)), 1)
	return strings.Replace(text, "cool_down = 300\n", "cool_down = 300\n[patient.home]\ntelephone = \"020 912 0456\"\nemergency = \"Ring Astrid.\"\ndays_between = 1\n", 1)
}

// atHome is a station at home whose clock a test sets.
func atHome(t *testing.T, days int) (*device, *dayClock) {
	d := newDevice(t, planFile(t, func(string) string { return homeText(days) }))
	clock := &dayClock{}
	d.clock = clock
	return d, clock
}

// refusals are the reasons why sessions did not begin.
func refusals(es []coach.Entry) (out []coach.RefusedData) {
	for _, e := range es {
		if r, ok := e.Data.(*coach.RefusedData); ok {
			out = append(out, *r)
		}
	}
	return out
}

func (d *device) lastRefusal() coach.RefusedData {
	d.t.Helper()
	before := len(refusals(d.entries()))
	es := d.press(func(es []coach.Entry) bool { return len(refusals(es)) > before }, hardware.Tap)
	all := refusals(es)
	return all[len(all)-1]
}

// A session done ends the day, also through a power cut; the day after is rest,
// and the next session comes after it, until the plan is over.
func TestDaysAtHome(t *testing.T) {
	t.Parallel()
	d, clock := atHome(t, 2)
	today := coach.DayOf(time.Now().UTC())
	d.start()
	es := d.press(has(coach.EntrySessionEnd), hardware.Tap, hardware.Plus)
	require.Equal(t, coach.Completed, outcome(es))
	next := today.AddDays(2)
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedDone, Next: next}, d.lastRefusal())
	require.NoError(t, d.stop())

	d.start() // switched off and on, nothing has changed
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedDone, Next: next}, d.lastRefusal())
	require.NoError(t, d.stop())

	clock.set(1, false)
	d.start()
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedRest, Next: next}, d.lastRefusal())
	clock.set(2, false) // without a restart
	d.press(times(coach.EntrySessionEnd, 2), hardware.Tap, hardware.Plus)
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedDone}, d.lastRefusal(), "the plan has no day left")
	clock.set(3, false)
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedOver}, d.lastRefusal())
	clock.set(-1, false)
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedEarly, Next: today}, d.lastRefusal())
	require.NoError(t, d.stop())
	assert.Equal(t, 2, count(d.entries(), coach.EntrySessionStart))
	d.verify()
	assert.Contains(t, d.saidTexts(), "Your plan has ended. Ring the clinic: zero two zero. Nine one two. Zero four five six.")
}

// saidTexts are the sentences said, those that follow one another joined.
func (d *device) saidTexts() string {
	var out []string
	for _, e := range d.entries() {
		if s, ok := e.Data.(*coach.SaidData); ok {
			out = append(out, s.Text)
		}
	}
	return strings.Join(out, " ")
}

func isRing(e coach.Entry) bool {
	s, ok := e.Data.(*coach.SaidData)
	return ok && s.Phrase == coach.SayRing
}

// A stop ends the day, also once staff have freed the box, and through a power
// cut; work before it makes the day after one of rest.
func TestAStopEndsTheDayAtHome(t *testing.T) {
	t.Parallel()
	d, clock := atHome(t, 9)
	d.start()
	d.press(has(coach.EntryRep), hardware.Tap, hardware.Plus)
	d.box.Press(hardware.Stop, hardware.Now())
	d.await(func(es []coach.Entry) bool { return slices.ContainsFunc(es, isRing) })
	require.NoError(t, d.stop())
	d.start()
	d.press(has(coach.EntryRelease), hardware.Hold, hardware.Minus, hardware.Hold)
	next := coach.DayOf(time.Now().UTC()).AddDays(2)
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedEnded, Next: next}, d.lastRefusal())
	require.NoError(t, d.stop())
	clock.set(1, false)
	d.start()
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedRest, Next: next}, d.lastRefusal())
	require.NoError(t, d.stop())
	assert.Equal(t, 1, count(d.entries(), coach.EntrySessionStart))
	said := d.saidTexts()
	assert.Regexp(t, `Stop\. Put the weight down\. Sit if you can\. (Ring Astrid|Call the emergency number now)\. Ring the clinic: zero two zero\.`, said)
	assert.NotContains(t, said, "staff")
}

// What was broken off may be gone on with on the same day; left, the day is
// over.
func TestASessionBrokenOffAtHomeGoesOn(t *testing.T) {
	t.Parallel()
	d, clock := atHome(t, 9)
	d.start()
	d.press(func(es []coach.Entry) bool { return count(es, coach.EntryItemStart) == 2 }, hardware.Tap, hardware.Plus)
	require.NoError(t, d.stop())
	d.start()
	d.press(times(coach.EntrySessionStart, 2), hardware.Plus)
	d.press(func(es []coach.Entry) bool { return count(es, coach.EntryItemStart) == 3 }, hardware.Tap, hardware.Plus)
	require.NoError(t, d.stop())
	d.start()
	d.press(func(es []coach.Entry) bool { return len(refusals(es)) > 0 }, hardware.Minus, hardware.Tap) // leaves it
	require.NoError(t, d.stop())
	assert.Equal(t, coach.RefusedEnded, refusals(d.entries())[0].Reason)
	assert.Equal(t, 2, count(d.entries(), coach.EntrySessionStart))
	assert.Equal(t, 2, count(d.entries(), coach.EntryShutdown), "the program was told to end")
	assert.Zero(t, count(d.entries(), coach.EntryFault), "and the power did not go")
	assert.Contains(t, d.saidTexts(), "This station was switched off during a session here.")
	clock.set(1, false)
	d.start()
	assert.Equal(t, coach.RefusedRest, d.lastRefusal().Reason, "work was done")
	require.NoError(t, d.stop())
}

// Without a clock that can be believed the machine's own tells as far as it can;
// what it can't, the person is asked.
func TestDaysAtHomeWithoutAClock(t *testing.T) {
	t.Parallel()
	d, clock := atHome(t, 9)
	clock.set(0, true)
	d.start()
	d.press(has(coach.EntrySessionEnd), hardware.Tap, hardware.Plus)
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedDone}, d.lastRefusal())
	require.NoError(t, d.stop()) // so that no press is on its way
	clock.set(2, true)
	d.start()
	asked := func(es []coach.Entry) bool {
		return slices.ContainsFunc(es, func(e coach.Entry) bool {
			q, ok := e.Data.(*coach.QuestionData)
			return ok && q.ID == coach.QuestionRested
		})
	}
	d.press(asked, hardware.Tap, hardware.Minus)
	d.await(func(es []coach.Entry) bool { all := refusals(es); return all[len(all)-1].Reason == coach.RefusedRest })
	require.Equal(t, 1, count(d.entries(), coach.EntrySessionStart))
	d.press(times(coach.EntrySessionStart, 2), hardware.Tap, hardware.Plus)
	require.NoError(t, d.stop())
}

// A code told by telephone clears the person and frees the box, but the day is
// over.
func TestACodeByTelephoneDoesNotBringTheDayBack(t *testing.T) {
	t.Parallel()
	b := newBay(t, 20)
	b.clock = &dayClock{}
	b.cfg.Release = nil
	b.send(2, homeText(9))
	b.start()
	b.taken(2)
	b.press(has(coach.EntrySessionStart), hardware.Tap)
	b.press(has(coach.EntryStop), hardware.Stop)
	b.server.Kill()
	require.NoError(t, b.stop())
	b.start()
	b.awake()
	good := link.TelephoneCode(b.id.Secret, "K4", 1)
	b.code(good[:])
	require.Equal(t, 1, count(b.entries(), coach.EntryRelease))
	assert.Equal(t, coach.RefusedData{Reason: coach.RefusedEnded, Next: coach.DayOf(time.Now().UTC()).AddDays(1)}, b.lastRefusal(), "no work was done: no day of rest")
	require.NoError(t, b.stop())
	assert.Equal(t, 1, count(b.entries(), coach.EntrySessionStart))
}
