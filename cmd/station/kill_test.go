package main

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var (
	kills    = flag.Int("kills", 12, "how often the running station is killed")
	killSeed = flag.Uint64("seed", 1, "of the dice that say when and what is pressed")
)

// killSpeed is how many times faster than life the killed station coaches.
const killSpeed = 200

// The real program, coaching two hundred times as fast as life while somebody
// presses at random, is killed without warning again and again. Whatever it
// had called logged is there afterwards, at its number; no number comes twice;
// the chain holds; and nobody is coached between a stop and its release.
func TestKilledStationKeepsItsWord(t *testing.T) {
	t.Parallel()
	w, dice := newWall(t, killSpeed), rand.New(rand.NewPCG(*killSeed, 1))
	var before []entry
	var tally killTally
	locked := false
	for n := range *kills {
		l := w.start(t)
		switch {
		case n%8 == 3: // dies locked
			f := w.follow(t, l)
			if locked {
				f.until("release", killPace, func() { l.press(unlock...) })
			}
			f.until("rep", killPace, func() { l.press("plus", "tap") })
			f.until("stop", killPace, func() { l.press("stop") })
			time.Sleep(time.Duration(dice.IntN(200)) * time.Millisecond)
		case dice.IntN(4) > 0: // the others die while they start, or soon after
			<-l.awake
			fallthrough
		default:
			pressAtRandom(l, dice, time.Duration(dice.IntN(1000))*time.Millisecond)
		}
		require.NoError(t, l.cmd.Process.Kill())
		promised := l.end()
		if len(promised) == 0 && len(before) == 0 {
			continue // it may not even have a log yet
		}
		after := w.log(t)
		tally.promised += len(promised)
		keepsItsWord(t, before, after, promised)
		locked = lockHolds(t, after, &tally)
		if locked {
			tally.killedLocked++
		}
		before = after
	}
	t.Logf("%d kills: %d acknowledgements, %d entries, %d sessions begun, %d stops, %d releases, %d kills while locked: none lost, none twice, chain whole",
		*kills, tally.promised, len(before), tally.sessions, tally.stops, tally.releases, tally.killedLocked)
	assert.Positive(t, tally.sessions, "no session was ever begun, so nothing was proved")
	assert.Positive(t, tally.killedLocked, "it was never killed while locked")
	assert.Positive(t, tally.releases, "it was never released")
}

// killPace is how long somebody waits between two presses, until a station has
// come to where it is wanted.
const killPace = 10 * time.Second / killSpeed

type killTally struct{ promised, sessions, stops, releases, killedLocked int }

// pressAtRandom presses as a willing person mostly would, and now and then
// stops or gives the release sequence.
func pressAtRandom(l *life, dice *rand.Rand, long time.Duration) {
	for end := time.Now().Add(long); time.Now().Before(end); time.Sleep(time.Duration(2+dice.IntN(15)) * time.Millisecond) {
		switch n := dice.IntN(300); {
		case n < 4:
			l.press("stop")
		case n < 10:
			l.press(unlock...)
		case n < 16:
			l.press("hold")
		case n < 20:
			l.press("minus")
		case n < 160:
			l.press("tap")
		default:
			l.press("plus")
		}
	}
}

// keepsItsWord holds a log against the one before it and against what was
// called logged since.
func keepsItsWord(t *testing.T, before, after []entry, promised []string) {
	require.GreaterOrEqual(t, len(after), len(before), "entries are gone")
	for i, e := range before {
		require.Equal(t, e.line, after[i].line, "an entry changed")
	}
	last := map[string]int64{}
	for i, e := range after {
		if e.Seq == 1 {
			require.NotContains(t, last, e.Epoch, "an epoch begins twice")
		} else {
			require.Equal(t, after[i-1].Epoch, e.Epoch, "an epoch does not begin with 1")
			require.Equal(t, after[i-1].Seq+1, e.Seq, "a number is missing or comes twice")
		}
		last[e.Epoch] = e.Seq
	}
	for _, line := range promised {
		var epoch string
		var seq int64
		if _, err := fmt.Sscanf(line, "logged %s %d", &epoch, &seq); err != nil || !strings.HasPrefix(line, "logged ") {
			continue // the kill cut the line short
		}
		require.GreaterOrEqual(t, last[epoch], seq, "%q is not in the log", line)
	}
}

// lockHolds fails where a session begins between a stop and its release, and
// reports whether the log ends in between. It counts the whole log anew.
func lockHolds(t *testing.T, log []entry, tally *killTally) (locked bool) {
	tally.sessions, tally.stops, tally.releases = 0, 0, 0
	for _, e := range log {
		switch e.Kind {
		case "stop":
			tally.stops++
			locked = true
		case "release":
			tally.releases++
			locked = false
		case "session_start":
			tally.sessions++
			require.False(t, locked, "a session begins while the station is locked: %s", e.line)
		}
	}
	return locked
}
