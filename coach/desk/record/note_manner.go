package record

import (
	"fmt"
	"time"

	"evenbell/coach/protocol"
	"evenbell/coach/review"
)

// manner is how the effort, the pace and the rests were.
func (in NoteInput) manner() []string {
	v := in.Visit
	if v == nil {
		v = &review.Visit{}
		for _, s := range in.Sessions {
			v.Stays = append(v.Stays, review.Stay{Session: s.Session})
		}
	}
	if !v.Worked() {
		return nil
	}
	var out []string
	if r := v.Reserve(); r != "" {
		out = append(out, "The least left after a set was "+left(r)[:len(left(r))-len(" left")]+".")
	}
	if share, ok := v.Pace(in.Protocol); ok {
		out = append(out, fmt.Sprintf("Of the repetitions that can be judged by taps, %.0f %% kept the pace.", share*100))
	} else {
		out = append(out, "No taps tell how the pace was kept.")
	}
	out = append(out, in.rests()...)
	out = append(out, in.between()...)
	pauses, paused := 0, time.Duration(0)
	for _, s := range in.Sessions {
		pauses, paused = pauses+s.Pauses, paused+s.Paused
	}
	if pauses > 0 {
		out = append(out, fmt.Sprintf("Paused %s, for %s in all.", times(pauses), minutes(paused)))
	}
	switch {
	case v.WarmedUp() && v.CooledDown():
		out = append(out, "Warm-up and cool-down were led to their end.")
	case v.WarmedUp():
		out = append(out, "The warm-up was led to its end.")
	case v.CooledDown():
		out = append(out, "The cool-down was led to its end.")
	}
	return out
}

func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func (in NoteInput) rests() []string {
	var least, most time.Duration
	n, short := 0, 0
	floor := in.Protocol.Seconds(protocol.RestFloor)
	for _, it := range in.items() {
		for _, set := range it.Sets {
			if set.Rest == 0 {
				continue
			}
			if n == 0 || set.Rest < least {
				least = set.Rest
			}
			most = max(most, set.Rest)
			n++
			if set.Rest < floor {
				short++
			}
		}
	}
	if n == 0 {
		return nil
	}
	out := fmt.Sprintf("%d rests, of %s to %s.", n, minutes(least), minutes(most))
	if minutes(least) == minutes(most) {
		out = fmt.Sprintf("%d rests of %s each.", n, minutes(least))
	}
	if short > 0 {
		out += fmt.Sprintf(" %d of them under the protocol's floor of %s.", short, minutes(floor))
	}
	return []string{out}
}
