package session

import (
	"math/bits"
	"time"

	"evenbell/coach"
)

// tally counts a set: repetitions led and confirmed, and the time between
// taps in repetitions that follow one another. Whole numbers only.
type tally struct {
	led, confirmed int
	tapped         bool          // in the current repetition
	at             coach.Samples // of that tap
	inRep          bool
	last           coach.Samples // the tap of the repetition before
	lastTapped     bool
	n, sum         int64 // intervals between taps, in samples
	squares        int64
}

// begin begins a repetition.
func (t *tally) begin() { t.inRep, t.tapped = true, false }

// tap records the first tap inside a repetition, by the sample that was being
// heard: what somebody taps to has been rendered a little before.
func (t *tally) tap(at coach.Samples) {
	if t.inRep && !t.tapped {
		t.tapped, t.at = true, at
	}
}

// end ends the current repetition.
func (t *tally) end() {
	t.led++
	if t.tapped {
		t.confirmed++
		if t.lastTapped {
			d := int64(t.at - t.last)
			t.n, t.sum, t.squares = t.n+1, t.sum+d, t.squares+d*d
		}
	}
	t.last, t.lastTapped, t.inRep = t.at, t.tapped, false
}

// breakOff forgets the repetition that was broken off.
func (t *tally) breakOff() { t.inRep, t.tapped, t.lastTapped = false, false, false }

func (t *tally) data(r coach.Rate, how coach.SetEnding) *coach.SetEndData {
	d := &coach.SetEndData{Led: t.led, Confirmed: t.confirmed, Ended: how}
	if t.n >= 1 {
		mean := seconds(r, (t.sum+t.n/2)/t.n)
		d.MeanS = &mean
	}
	if t.n >= 2 {
		sd := seconds(r, deviation(t.n, t.sum, t.squares))
		d.SDS = &sd
	}
	return d
}

func seconds(r coach.Rate, samples int64) coach.Seconds {
	return coach.Seconds(r.Duration(coach.Samples(samples)).Round(time.Millisecond))
}

// deviation is the sample standard deviation of n numbers with the given sum
// and sum of squares, to the whole number below.
func deviation(n, sum, squares int64) int64 {
	// n·Σx² − (Σx)² is never negative; both fit 63 bits for a set of an hour.
	return int64(root(uint64(n*squares-sum*sum) / uint64(n*(n-1))))
}

// root is the square root of x to the whole number below.
func root(x uint64) uint64 {
	r := uint64(1) << ((bits.Len64(x) + 1) / 2)
	for {
		next := (r + x/max(r, 1)) / 2
		if next >= r {
			return r
		}
		r = next
	}
}

// endRep logs a repetition that was led to its end.
func (s *Session) endRep() {
	d := &coach.RepData{Confirmed: s.tally.tapped}
	if d.Confirmed {
		at, off := s.tally.at, s.offCue(s.tally.at)
		d.TapSample, d.OffMS = &at, &off
	}
	s.tally.end()
	s.itemLed = true
	s.log(coach.EntryRep, d)
}

// offCue is how many milliseconds a sample lies after the start of the nearest
// movement of the set, rounded; below zero where it lies before.
func (s *Session) offCue(at coach.Samples) int {
	nearest := coach.Samples(1) << 60
	for i := range s.now.marks {
		if m := &s.now.marks[i]; m.act == sound && (m.cue.Kind == coach.CueLift || m.cue.Kind == coach.CueLower) {
			if off := at - s.origin - m.at; max(off, -off) < max(nearest, -nearest) {
				nearest = off
			}
		}
	}
	const rate = int64(coach.SessionRate)
	ms := (2*1000*max(int64(nearest), -int64(nearest)) + rate) / (2 * rate)
	if nearest < 0 {
		ms = -ms
	}
	return int(ms)
}
