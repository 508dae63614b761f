package review

import (
	"math"
	"slices"
	"time"

	"evenbell/coach"
)

// rep is one led repetition; its beginning is a period before its end.
type rep struct {
	number int
	end    coach.Samples
	tap    *coach.Samples
}

// Pace is how well a person kept time, as far as their taps tell.
type Pace struct {
	Period time.Duration // of the repetitions led
	Pairs  int           // repetitions in a row that were both tapped
	Mean   time.Duration // between the taps of such a pair
	Spread time.Duration // sample standard deviation of these
	Taps   int
	Off    time.Duration   // mean distance of taps from the nearer end of their repetition, without sign
	Gaps   []time.Duration // between the taps of each such pair
}

// measure works out tension and pace of a set that has ended.
func (s *Set) measure(reps []rep) {
	period := period(reps)
	s.Pace.Period = seconds(period)
	s.Tension = time.Duration(s.Led) * seconds(period)
	var off float64
	for i, p := range reps {
		if p.tap == nil {
			continue
		}
		s.Pace.Taps++
		off += seconds(min(abs(*p.tap-p.end), abs(*p.tap-(p.end-period)))).Seconds()
		if i > 0 && reps[i-1].tap != nil && p.number == reps[i-1].number+1 && p.end-reps[i-1].end == period {
			s.Pace.Gaps = append(s.Pace.Gaps, seconds(*p.tap-*reps[i-1].tap))
		}
	}
	if s.Pace.Taps > 0 {
		s.Pace.Off = time.Duration(off / float64(s.Pace.Taps) * float64(time.Second))
	}
	s.Pace.Pairs = len(s.Pace.Gaps)
	s.Pace.Mean, s.Pace.Spread = meanAndSpread(s.Pace.Gaps)
}

// period is the commonest time from one repetition's end to the next: a pause
// makes one longer, and none shorter.
func period(reps []rep) coach.Samples {
	var all []coach.Samples
	for i := 1; i < len(reps); i++ {
		if reps[i].number == reps[i-1].number+1 {
			all = append(all, reps[i].end-reps[i-1].end)
		}
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[(len(all)-1)/2]
}

// Kept counts the pairs whose taps lie a period apart, give or take so many
// percent of it.
func (p Pace) Kept(percent float64) int {
	n := 0
	for _, g := range p.Gaps {
		if math.Abs(float64(g-p.Period)) <= percent/100*float64(p.Period) {
			n++
		}
	}
	return n
}

func meanAndSpread(all []time.Duration) (mean, spread time.Duration) {
	if len(all) == 0 {
		return 0, 0
	}
	sum := 0.0
	for _, d := range all {
		sum += d.Seconds()
	}
	m := sum / float64(len(all))
	squares := 0.0
	for _, d := range all {
		squares += (d.Seconds() - m) * (d.Seconds() - m)
	}
	if len(all) > 1 {
		spread = time.Duration(math.Sqrt(squares/float64(len(all)-1)) * float64(time.Second))
	}
	return time.Duration(m * float64(time.Second)), spread
}

func abs(n coach.Samples) coach.Samples { return max(n, -n) }
