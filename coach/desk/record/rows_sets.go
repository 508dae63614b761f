package record

import (
	"encoding/json"
	"io"
	"iter"
	"math/big"
	"strings"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"
	"evenbell/coach/review"
)

// setRow is one set on one side.
type setRow struct {
	Session
	item *review.Item
	set  *review.Set
}

var visitColumn = Column{"visit", "the visit it is part of: the id of its first session, the same for all of its parts"}

func (c Clinic) setColumns() []column[setRow] {
	return []column[setRow]{
		{Column{"session", "session id"}, func(r setRow) any { return text(r.ID) }},
		{Column{"tag", "the patient's tag"}, func(r setRow) any { return text(r.Tag) }},
		{Column{"station", "the station's name"}, func(r setRow) any { return text(r.Station) }},
		{Column{"day", "the clinic's day of the session; empty where no clock was trusted"}, func(r setRow) any { return text(r.Day()) }},
		{Column{"start", "when the set began, RFC 3339"}, func(r setRow) any { return text(c.stamp(r.span(r.item, r.set).start)) }},
		{Column{"end", "when it ended"}, func(r setRow) any { return text(c.stamp(r.span(r.item, r.set).end)) }},
		{Column{"item", "exercise in the plan, from 1"}, func(r setRow) any { return r.item.Number }},
		{Column{"exercise", "exercise id"}, func(r setRow) any { return text(r.item.Exercise) }},
		{Column{"stage", "stage of the exercise"}, func(r setRow) any { return text(r.item.Dose.Stage) }},
		{Column{"sides", "both, alternating, each, left or right, as prescribed"}, func(r setRow) any { return text(r.item.Sides) }},
		{Column{"planned_sets", "sets prescribed"}, func(r setRow) any { return countIf(r.item.Dose.Sets) }},
		{Column{"planned_reps", "repetitions prescribed in a set"}, func(r setRow) any { return countIf(r.item.Dose.Reps) }},
		{Column{"load", "as prescribed: \"2.5 kg\", \"5 lb\", \"band 2\" or \"body\""}, func(r setRow) any { return loadCell(r.item) }},
		{Column{"load_kg", "mass of one dumbbell in kilograms, exact; empty for a band or the body"}, func(r setRow) any { return kilograms(r.item.Dose.Load) }},
		{Column{"set", "set, from 1"}, func(r setRow) any { return r.set.Number }},
		{Column{"side", "the side that worked: left, right or both"}, func(r setRow) any { return text(r.set.Side) }},
		{Column{"led_reps", "repetitions led"}, func(r setRow) any { return r.set.Led }},
		{Column{"confirmed_reps", "repetitions tapped"}, func(r setRow) any { return r.set.Confirmed }},
		{Column{"ended", "complete, enough, stop or fault; empty where the log does not say"}, func(r setRow) any { return text(r.set.Ended) }},
		{Column{"reserve_low_reps", "the least repetitions left by the answer: 0, 2 or 5; empty where not answered"}, func(r setRow) any { least, _ := reserveCells(r.set.Reserve); return least }},
		{Column{"reserve_high_reps", "the most repetitions left by the answer: 1 or 4; empty where not answered and for 5 or more"}, func(r setRow) any { _, most := reserveCells(r.set.Reserve); return most }},
		{Column{"work_s", "seconds from the tap that began the set to its end"}, func(r setRow) any { return secondsIf(r.set.Work) }},
		{Column{"tension_s", "seconds in led repetitions"}, func(r setRow) any { return secondsIf(r.set.Tension) }},
		{Column{"rest_s", "seconds of rest after it; empty where none was logged"}, func(r setRow) any { return secondsIf(r.set.Rest) }},
		{Column{"period_s", "seconds of a repetition as led"}, func(r setRow) any { return secondsIf(r.set.Pace.Period) }},
		{Column{"tap_mean_s", "mean seconds between taps of repetitions in a row"}, func(r setRow) any { return pairCell(r.set, r.set.Pace.Mean.Seconds()) }},
		{Column{"tap_sd_s", "sample standard deviation of the same"}, func(r setRow) any { return pairCell(r.set, r.set.Pace.Spread.Seconds()) }},
		{Column{"tap_pairs", "how many such pairs there are"}, func(r setRow) any { return r.set.Pace.Pairs }},
		{Column{"doubtful", "true where the session's log cannot be trusted"}, func(r setRow) any { return r.Doubtful }},
		{visitColumn, func(r setRow) any { return text(r.Visit) }},
	}
}

// loadCell is nil where the dose was not logged.
func loadCell(it *review.Item) any {
	if it.Dose.Reps == 0 {
		return nil
	}
	return it.Dose.Load.String()
}

func pairCell(s *review.Set, v float64) any {
	if s.Pace.Pairs == 0 {
		return nil
	}
	return json.Number(coach.Seconds(v * 1e9).String())
}

// SetColumns are the columns of WriteSets.
func SetColumns() []Column { return about(Clinic{}.setColumns()) }

// WriteSets streams the sets of sessions, a row a set and side. As JSON lines
// the keys are the columns, null where nothing is known.
func WriteSets(w io.Writer, f Format, c Clinic, sessions iter.Seq2[Session, error]) error {
	rows := func(yield func(setRow, error) bool) {
		for s, err := range sessions {
			if err != nil {
				yield(setRow{}, err)
				return
			}
			for _, it := range s.Items {
				for _, set := range it.Sets {
					if !yield(setRow{s, it, set}, nil) {
						return
					}
				}
			}
		}
	}
	return write(w, f, c.setColumns(), rows, nil)
}

func (c Clinic) sessionColumns(p *protocol.Protocol) []column[Session] {
	return []column[Session]{
		{Column{"session", "session id"}, func(s Session) any { return text(s.ID) }},
		{Column{"epoch", "the start of the station's program"}, func(s Session) any { return text(s.Epoch) }},
		{Column{"tag", "the patient's tag"}, func(s Session) any { return text(s.Tag) }},
		{Column{"station", "the station's name"}, func(s Session) any { return text(s.Station) }},
		{Column{"day", "the clinic's day; empty where no clock was trusted"}, func(s Session) any { return text(s.Day()) }},
		{Column{"start", "RFC 3339"}, func(s Session) any { return text(c.stamp(s.Start)) }},
		{Column{"end", "RFC 3339"}, func(s Session) any { return text(c.stamp(s.End)) }},
		{Column{"within_s", "how far its times may be off, in seconds"}, func(s Session) any { return seconds(s.Within) }},
		{Column{"part", "whole, first, middle or last of the day's session"}, func(s Session) any { return text(s.Part) }},
		{Column{"speed", "how much faster than real time; 1 for a person"}, func(s Session) any { return text(s.Speed) }},
		{Column{"outcome", "completed, finished_early, stopped, abandoned or not_started; empty where the log does not say"}, func(s Session) any { return text(s.Outcome) }},
		{Column{"exercises", "exercises begun"}, func(s Session) any { return len(s.Items) }},
		{Column{"complete_exercises", "exercises of which every set was led to its end"}, func(s Session) any { return s.complete() }},
		{Column{"sets", "sets begun, sides apart"}, func(s Session) any { return s.sets() }},
		{Column{"led_reps", "repetitions led"}, func(s Session) any { return s.sum(func(x *review.Set) int { return x.Led }) }},
		{Column{"confirmed_reps", "repetitions tapped"}, func(s Session) any { return s.sum(func(x *review.Set) int { return x.Confirmed }) }},
		{Column{"volume_kg", "mass of one dumbbell times repetitions led, in kilograms; bands and the body left out"}, func(s Session) any { return s.volume() }},
		{Column{"lowest_reserve_low_reps", "of the lowest answer to the effort question, the least repetitions left"}, func(s Session) any { least, _ := reserveCells(s.lowest()); return least }},
		{Column{"lowest_reserve_high_reps", "of the same, the most; empty for 5 or more"}, func(s Session) any { _, most := reserveCells(s.lowest()); return most }},
		{Column{"work_s", "seconds from the beginning to the end of sets"}, func(s Session) any { return seconds(s.Work()) }},
		{Column{"tension_s", "seconds in led repetitions"}, func(s Session) any { return seconds(s.Tension()) }},
		{Column{"rest_s", "seconds of rests logged"}, func(s Session) any { return seconds(s.Rest()) }},
		{Column{"pauses", "how often it was paused"}, func(s Session) any { return s.Pauses }},
		{Column{"paused_s", "seconds paused"}, func(s Session) any { return seconds(s.Paused) }},
		{Column{"pace_kept_percent", "repetitions that kept the pace within the protocol's tolerance; empty where no taps tell"}, func(s Session) any { return s.kept(p) }},
		{Column{"warmed_up", "true where the warm-up was led to its end here"}, func(s Session) any { return s.WarmedUp }},
		{Column{"cooled_down", "true where the cool-down was led to its end here"}, func(s Session) any { return s.CooledDown }},
		{Column{"events", "what may be about the heart, in plain words"}, func(s Session) any { return text(s.events()) }},
		{Column{"symptom", "named after a stop"}, func(s Session) any { return text(s.Symptom) }},
		{Column{"doubtful", "true where its log cannot be trusted"}, func(s Session) any { return s.Doubtful }},
		{Column{"marks", "what is wrong with its log"}, func(s Session) any { return text(s.marks()) }},
		{Column{"plan", "fingerprint of the day plan"}, func(s Session) any { return text(s.Made.Plan) }},
		{Column{"protocol", "fingerprint of the protocol"}, func(s Session) any { return text(s.Made.Protocol) }},
		{Column{"voice", "fingerprint of the voice pack"}, func(s Session) any { return text(s.Made.Voice) }},
		{Column{"program", "fingerprint of the station's program"}, func(s Session) any { return text(s.Made.Program) }},
		{visitColumn, func(s Session) any { return text(s.Visit) }},
	}
}

// SessionColumns are the columns of WriteSessions.
func SessionColumns() []Column { return about(Clinic{}.sessionColumns(nil)) }

// WriteSessions streams sessions, a row each. The pace is judged by p (nil for
// the default protocol).
func WriteSessions(w io.Writer, f Format, c Clinic, p *protocol.Protocol, sessions iter.Seq2[Session, error]) error {
	if p == nil {
		p = protocol.Default()
	}
	return write(w, f, c.sessionColumns(p), sessions, nil)
}

func (s Session) sets() int {
	n := 0
	for _, it := range s.Items {
		n += len(it.Sets)
	}
	return n
}

func (s Session) complete() int {
	n := 0
	for _, it := range s.Items {
		if it.Result == dose.Complete {
			n++
		}
	}
	return n
}

func (s Session) sum(of func(*review.Set) int) int {
	n := 0
	for _, it := range s.Items {
		for _, set := range it.Sets {
			n += of(set)
		}
	}
	return n
}

// volume is the mass moved, in kilograms, exact; nil where no mass was.
func (s Session) volume() any {
	sum, any := new(big.Rat), false
	for _, it := range s.Items {
		if it.Dose.Load.Kind() == coach.DumbbellLoad {
			sum.Add(sum, exactKilograms(it.Dose.Load, int64(it.Led())))
			any = true
		}
	}
	if !any {
		return nil
	}
	return ratNumber(sum)
}

func (s Session) lowest() coach.Reserve {
	for _, r := range []coach.Reserve{coach.ReserveNone, coach.ReserveFew, coach.ReserveMany} {
		for _, it := range s.Items {
			if it.Reserve == r {
				return r
			}
		}
	}
	return ""
}

func (s Session) kept(p *protocol.Protocol) any {
	share, ok := s.Pace(p)
	if !ok {
		return nil
	}
	return json.Number(coach.Decimal(int64(share*1000+0.5) * 100))
}

func (s Session) events() string {
	var out []string
	for _, e := range s.Events {
		out = append(out, string(e.Kind))
	}
	return strings.Join(out, "; ")
}

func (s Session) marks() string {
	var out []string
	for _, m := range s.Marks {
		out = append(out, string(m))
	}
	return strings.Join(out, "; ")
}

// reserveCells are the bounds of an answer as two numbers: written as one, "2-4"
// becomes a day of April in a spreadsheet.
func reserveCells(r coach.Reserve) (least, most any) {
	switch r {
	case coach.ReserveNone:
		return 0, 1
	case coach.ReserveFew:
		return 2, 4
	case coach.ReserveMany:
		return 5, nil
	}
	return nil, nil
}
