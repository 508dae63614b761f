package station_test

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/station"
	"evenbell/hardware"
)

// device is a station in a folder of its own that runs at many times real
// time and whose buttons a test presses.
type device struct {
	t   *testing.T
	cfg *station.Config
	box *hardware.Fake
	end context.CancelFunc
	out chan error
	lit *hardware.FakeLamps
	log []coach.Entry // read so far
	at  journal.Position

	clock  journal.Clock          // nil for the machine's own
	logged func(journal.Position) // may be nil
}

// shortPlan is three exercises for one invented patient.
const shortPlan = `format = "day-plan/1"
day = DAY
clinic = "Quayside Heart Health"
unit = "kg"
[approval]
by = "R. Okafor"
at = 2026-03-01T16:20:00Z
[[patient]]
tag = "K4"
warm_up = 300
cool_down = 300
[[patient.item]]
exercise = "heel-raise"
reps = 4
load = "body"
[[patient.item]]
exercise = "biceps-curl"
reps = 4
load = "2 kg"
[[patient.item]]
exercise = "half-squat"
reps = 4
load = "body"
`

// planFile writes the short plan for today, or what change makes of it.
func planFile(t *testing.T, change func(string) string) string {
	t.Helper()
	text := strings.Replace(shortPlan, "DAY", string(coach.DayOf(time.Now().UTC())), 1)
	if change != nil {
		text = change(text)
	}
	file := filepath.Join(t.TempDir(), "plan.toml")
	require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
	return file
}

func newDevice(t *testing.T, planFile string) *device {
	t.Helper()
	return &device{t: t, cfg: &station.Config{Name: "Bay 3", Data: t.TempDir(), Plan: planFile, Sink: "silent", Speed: 300,
		Zone: time.UTC, Release: []coach.Button{coach.Hold, coach.Minus, coach.Hold}}}
}

// start switches the station on.
func (d *device) start() {
	d.t.Helper()
	ctx, end := context.WithCancel(context.Background())
	d.box, d.end, d.out, d.lit = hardware.NewFake(), end, make(chan error, 1), &hardware.FakeLamps{}
	dev := &station.Device{Config: d.cfg, Box: d.box, Lamps: d.lit, Program: "test", Clock: d.clock, Logged: d.logged, Log: slog.New(slog.NewTextHandler(io.Discard, nil))}
	go func() { d.out <- dev.Run(ctx) }()
}

// patience is how long a test waits for what comes on a machine that is busy
// with a lot else.
const patience = 3 * time.Minute

// stop switches it off.
func (d *device) stop() error {
	d.t.Helper()
	d.end()
	select {
	case err := <-d.out:
		require.NoError(d.t, d.box.Close())
		return err
	case <-time.After(patience):
		d.t.Fatal("the station does not end")
		return nil
	}
}

// pace is how long a person waits between presses: an answer about the effort
// may be changed for four seconds.
const pace = 25 * time.Millisecond

// press presses the buttons again and again until done says so.
func (d *device) press(done func([]coach.Entry) bool, buttons ...hardware.Control) []coach.Entry {
	d.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); {
		for range 3 {
			for _, b := range buttons {
				d.box.Press(b, hardware.Now())
			}
			time.Sleep(pace)
		}
		if entries := d.entries(); done(entries) {
			return entries
		}
	}
	d.t.Fatalf("it never came to that; the log has %d entries", len(d.entries()))
	return nil
}

// entries are the whole log.
func (d *device) entries() []coach.Entry {
	d.t.Helper()
	r, err := journal.OpenReader(d.cfg.Data)
	if errors.Is(err, journal.ErrNoLog) {
		return nil
	}
	require.NoError(d.t, err)
	defer r.Close()
	records, err := r.After(d.at, 100000)
	require.NoError(d.t, err)
	for _, rec := range records {
		e, err := rec.Entry()
		require.NoError(d.t, err)
		d.log, d.at = append(d.log, e), rec.Position
	}
	return d.log
}

func (d *device) verify() {
	d.t.Helper()
	r, err := journal.OpenReader(d.cfg.Data)
	require.NoError(d.t, err)
	defer r.Close()
	_, err = r.Verify()
	require.NoError(d.t, err)
}

func has(k coach.EntryKind) func([]coach.Entry) bool {
	return func(es []coach.Entry) bool {
		for _, e := range es {
			if e.Kind == k {
				return true
			}
		}
		return false
	}
}

func count(es []coach.Entry, k coach.EntryKind) (n int) {
	for _, e := range es {
		if e.Kind == k {
			n++
		}
	}
	return n
}

func outcome(es []coach.Entry) coach.Outcome {
	for i := len(es) - 1; i >= 0; i-- {
		if d, ok := es[i].Data.(*coach.SessionEndData); ok {
			return d.Outcome
		}
	}
	return ""
}

func TestDeviceCoachesAndComesBack(t *testing.T) {
	t.Parallel()
	d := newDevice(t, planFile(t, nil))
	d.start()
	es := d.press(has(coach.EntrySessionEnd), hardware.Tap, hardware.Plus)
	assert.Equal(t, coach.Completed, outcome(es))
	assert.Equal(t, 3, count(es, coach.EntryItemStart))
	assert.Positive(t, count(es, coach.EntryRep))
	for i, e := range es {
		if e.Kind == coach.EntryRep {
			assert.NotEmpty(t, e.Session, "entry %d", i)
			assert.Equal(t, "K4", e.Tag)
		}
	}
	d.press(func(es []coach.Entry) bool { return count(es, coach.EntrySessionStart) == 2 }, hardware.Tap)
	require.NoError(t, d.stop())
	d.verify()
}

func TestDeviceStaysLockedThroughAPowerCut(t *testing.T) {
	t.Parallel()
	d := newDevice(t, planFile(t, nil))
	d.start()
	d.press(has(coach.EntryRep), hardware.Tap, hardware.Plus)
	d.press(has(coach.EntryStop), hardware.Stop)
	require.NoError(t, d.stop())
	d.start()
	d.press(func(es []coach.Entry) bool { return count(es, coach.EntryPress) > 60 }, hardware.Tap, hardware.Plus)
	es := d.entries()
	assert.Equal(t, 1, count(es, coach.EntrySessionStart), "a locked station coaches nobody")
	assert.Zero(t, count(es, coach.EntryRelease))
	d.press(has(coach.EntryRelease), hardware.Hold, hardware.Minus, hardware.Hold)
	d.press(func(es []coach.Entry) bool { return count(es, coach.EntrySessionStart) == 2 }, hardware.Tap, hardware.Plus)
	require.NoError(t, d.stop())
	d.verify()
}

// A power cut between two commits must not leave the press of the red button
// without the stop that locks the box.
func TestAStopIsDurableTogetherWithItsPress(t *testing.T) {
	t.Parallel()
	d := newDevice(t, planFile(t, nil))
	committed := make(chan journal.Position, 10_000)
	d.logged = func(at journal.Position) { committed <- at }
	d.start()
	for n := range 10 {
		d.press(func(es []coach.Entry) bool { return count(es, coach.EntryStop) > n }, hardware.Stop)
		d.press(func(es []coach.Entry) bool { return count(es, coach.EntryRelease) > n }, hardware.Hold, hardware.Minus, hardware.Hold)
	}
	require.NoError(t, d.stop())
	close(committed)
	ends := map[int64]bool{}
	for at := range committed {
		ends[at.Seq] = true
	}
	es := d.entries()
	for i, e := range es {
		if e.Kind == coach.EntryStop {
			require.Equal(t, coach.EntryPress, es[i-1].Kind)
			assert.False(t, ends[es[i-1].Seq], "the press of entry %d was committed alone", e.Seq)
		}
	}
}

func TestDeviceGoesOnAfterItWasSwitchedOff(t *testing.T) {
	t.Parallel()
	d := newDevice(t, planFile(t, nil))
	d.start()
	es := d.press(func(es []coach.Entry) bool { return count(es, coach.EntryItemStart) == 2 }, hardware.Tap, hardware.Plus)
	first := es[len(es)-1].Session
	require.NoError(t, d.stop())
	d.start()
	d.press(func(es []coach.Entry) bool { return count(es, coach.EntrySessionStart) == 2 }, hardware.Plus)
	d.press(has(coach.EntrySessionEnd), hardware.Tap, hardware.Plus)
	require.NoError(t, d.stop())
	es = d.entries()
	var resumes string
	var items []int
	for _, e := range es {
		if s, ok := e.Data.(*coach.SessionStartData); ok && s.Resumes != "" {
			resumes = s.Resumes
		}
		if e.Kind == coach.EntryItemStart && e.Session != first {
			items = append(items, e.Item)
		}
	}
	assert.Equal(t, first, resumes)
	assert.Equal(t, []int{2, 3}, items)
	assert.Equal(t, 1, count(es, coach.EntryWarmUpEnd), "broken off a moment ago: no new warm-up")
	assert.Positive(t, count(es, coach.EntryShutdown), "that it was switched off is in the log")
	assert.Zero(t, count(es, coach.EntryFault), "and not that the power went")
	assert.Equal(t, coach.Completed, outcome(es))
	d.verify()
}

func TestDeviceRefusesPlansThatAreNotForNow(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(string) string{
		"unapproved": func(s string) string {
			return regexp.MustCompile(`(?m)^(\[approval\]|by +=.*|at +=.*)$`).ReplaceAllString(s, "")
		},
		"another day": func(s string) string {
			return regexp.MustCompile(`(?m)^day = .*$`).ReplaceAllString(s, "day = 2025-01-01")
		},
		"faulty": func(s string) string { return s + "\ncolour = 3\n" },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d := newDevice(t, planFile(t, change))
			d.start()
			d.press(func(es []coach.Entry) bool { return count(es, coach.EntryPress) > 40 }, hardware.Tap, hardware.Plus)
			require.NoError(t, d.stop())
			assert.Zero(t, count(d.entries(), coach.EntrySessionStart))
		})
	}
}

func TestDeviceTakesANewPlanBetweenSessions(t *testing.T) {
	t.Parallel()
	file := planFile(t, func(s string) string { return s + "\ncolour = 3\n" })
	d := newDevice(t, file)
	d.start()
	d.press(func(es []coach.Entry) bool { return count(es, coach.EntryPress) > 20 }, hardware.Tap)
	good, err := os.ReadFile(planFile(t, nil))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, good, 0o644))
	d.press(has(coach.EntrySessionStart), hardware.Tap, hardware.Plus)
	require.NoError(t, d.stop())
}

// A log that can not be written ends everything: silence, then the station
// says so until it is released, then it leaves.
func TestDeviceStopsWhenTheLogFails(t *testing.T) {
	t.Parallel()
	d := newDevice(t, planFile(t, nil))
	d.onSmallDisk("64m")
	d.start()
	d.press(has(coach.EntryRep), hardware.Tap, hardware.Plus)
	full, err := os.Create(filepath.Join(d.cfg.Data, "full"))
	require.NoError(t, err)
	for err == nil {
		_, err = full.Write(make([]byte, 1<<16))
	}
	require.ErrorIs(t, err, unix.ENOSPC)
	go func() { // a press waits for a station that no longer listens, until the box is closed
		for d.box.Err() == nil && t.Context().Err() == nil {
			for _, b := range d.cfg.Release {
				d.box.Press(hardware.Control(b), hardware.Now())
			}
			time.Sleep(pace)
		}
	}()
	select {
	case err := <-d.out:
		require.ErrorIs(t, err, station.ErrLogFailed)
		require.ErrorIs(t, err, journal.ErrFailed)
	case <-time.After(patience):
		assert.Fail(t, "the station goes on though its log has failed")
	}
	require.NoError(t, d.box.Close())
	require.NoError(t, full.Close())
	require.NoError(t, os.Remove(full.Name()))
	d.verify()
	assert.Empty(t, outcome(d.entries()))
}

// A red button that is no longer connected holds the session at once, and
// no new one begins.
func TestDeviceHoldsWithoutItsRedButton(t *testing.T) {
	t.Parallel()
	d := newDevice(t, planFile(t, nil))
	d.start()
	d.press(has(coach.EntryRep), hardware.Tap, hardware.Plus)
	d.box.Unplug(hardware.Stop)
	d.press(func(es []coach.Entry) bool {
		return count(es, coach.EntryFault) >= 1 && count(es, coach.EntryPause) >= 1
	}, hardware.Tap)
	d.press(func(es []coach.Entry) bool { return count(es, coach.EntryFault) >= 2 }, hardware.Hold) // and again
	require.NoError(t, d.stop())
	var parts []string
	for _, e := range d.entries() {
		if f, ok := e.Data.(*coach.FaultData); ok {
			parts = append(parts, f.Part)
		}
	}
	assert.GreaterOrEqual(t, len(parts), 2)
	assert.NotContains(t, parts, "sound")
}

// onSmallDisk gives the station a disk of that size, or skips the test.
func (d *device) onSmallDisk(size string) {
	d.t.Helper()
	if err := unix.Mount("tmpfs", d.cfg.Data, "tmpfs", 0, "size="+size); err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			d.t.Fatalf("mounting a small file system: %v", err)
		}
		d.t.Skipf("needs leave to mount a small file system: %v", err)
	}
	d.t.Cleanup(func() { assert.NoError(d.t, unix.Unmount(d.cfg.Data, unix.MNT_DETACH)) })
}

// Room for fewer than thirty days shows on the pace lamp as long as nobody is
// coached: two short blinks, then dark for longer than any rest's. With room
// enough it stays dark.
func TestALampShowsThatTheDiskFillsUp(t *testing.T) {
	t.Parallel()
	within := map[bool]time.Duration{true: patience, false: 2 * time.Second}
	for size, blinks := range map[string]bool{"128m": true, "1g": false} {
		t.Run(size, func(t *testing.T) {
			t.Parallel()
			d := newDevice(t, planFile(t, nil))
			d.cfg.Speed = 4
			d.onSmallDisk(size)
			d.start()
			lit, turns := false, 0
			for end := time.Now().Add(within[blinks]); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
				if on := d.lit.Level(hardware.PaceLamp) == hardware.Full; on != lit {
					lit = on
					turns++
				}
				assert.Zero(t, d.lit.Level(hardware.StopLamp))
				if blinks && turns > 8 {
					break
				}
			}
			assert.Equal(t, blinks, turns > 4, "the lamp turned %d times", turns)
			require.NoError(t, d.stop())
		})
	}
}

// A button that sticks is logged at once and passed over; the session goes on,
// and before the next one it is said. So is its release logged.
func TestDeviceSaysThatAButtonSticks(t *testing.T) {
	t.Parallel()
	d := newDevice(t, planFile(t, nil))
	d.start()
	d.press(has(coach.EntryRep), hardware.Tap, hardware.Plus)
	d.box.Jam(hardware.Minus)
	es := d.press(func(es []coach.Entry) bool { return count(es, coach.EntryFault) >= 1 && has(coach.EntrySessionEnd)(es) }, hardware.Tap, hardware.Plus)
	assert.Equal(t, coach.Completed, outcome(es))
	said := func(es []coach.Entry) bool {
		for _, e := range es {
			if s, ok := e.Data.(*coach.SaidData); ok && s.Phrase == coach.SayTrouble {
				return true
			}
		}
		return false
	}
	d.await(said)
	d.box.Jam()
	d.await(times(coach.EntryFault, 2))
	require.NoError(t, d.stop())
	for _, e := range d.entries() {
		if f, ok := e.Data.(*coach.FaultData); ok {
			assert.Equal(t, "button minus", f.Part)
		}
	}
}
