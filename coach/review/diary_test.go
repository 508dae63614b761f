package review

import (
	"fmt"
	"time"

	"evenbell/coach"
)

// diary writes entries as a station would: one epoch, numbered from 1.
type diary struct {
	entries []coach.Entry
	epoch   string
	seq     int64
	tag     string
	session string
	item    int
	ex      string
	start   time.Time
	at      coach.Samples
	noClock bool
}

const second = coach.Samples(coach.SessionRate)

func newDiary(epoch, tag string) *diary {
	d := &diary{epoch: epoch, tag: tag}
	d.log(coach.EntryStart, 0, 0, coach.NoSide, &coach.StartData{})
	return d
}

func (d *diary) log(k coach.EntryKind, set, rep int, side coach.Side, data any) {
	d.seq++
	e := coach.Entry{Epoch: d.epoch, Seq: d.seq, Boot: "boot", MonoNS: int64(seconds(d.at)), Sample: d.at,
		Session: d.session, Kind: k, Set: set, Rep: rep, Side: side, Data: data}
	if d.session != "" {
		e.Tag, e.Item, e.Exercise = d.tag, d.item, d.ex
	}
	if !d.noClock && !d.start.IsZero() {
		w := d.start.Add(seconds(d.at)).Truncate(time.Millisecond)
		e.Wall = &w
	}
	d.entries = append(d.entries, e)
}

// begin begins a session with its readiness questions and warm-up.
func (d *diary) begin(id string, start time.Time) *diary {
	d.session, d.start, d.at, d.item, d.ex = id, start, 0, 0, ""
	d.log(coach.EntrySessionStart, 0, 0, coach.NoSide, &coach.SessionStartData{Speed: "1", Part: coach.Whole})
	for _, q := range []string{coach.QuestionWell, coach.QuestionSymptoms, coach.QuestionTablets} {
		d.at += 6 * second
		d.log(coach.EntryPress, 0, 0, coach.NoSide, &coach.PressData{Button: coach.Plus, At: d.at, Heard: d.at})
		d.log(coach.EntryQuestion, 0, 0, coach.NoSide, &coach.QuestionData{ID: q, Answer: coach.AnswerWell, AfterS: coach.Seconds(time.Second)})
	}
	d.at += 300 * second
	d.log(coach.EntryWarmUpEnd, 0, 0, coach.NoSide, nil)
	return d
}

// plan is what a test wants done of one exercise.
type plan struct {
	ex       string
	load     coach.Load
	reps     int
	sets     int
	sides    coach.Sides
	reserve  coach.Reserve   // "" for no answer
	ended    coach.SetEnding // of the last set; complete unless said
	led      int             // in the last set, where it was not complete
	tapEvery coach.Samples   // between taps; 0 for none
	rest     time.Duration   // 60 s unless said
}

func (d *diary) do(p plan) *diary {
	d.item, d.ex = d.item+1, p.ex
	if p.sides == "" {
		p.sides = coach.BothSides
	}
	if p.rest == 0 {
		p.rest = time.Minute
	}
	d.log(coach.EntryItemStart, 0, 0, coach.NoSide, &coach.ItemStartData{Load: p.load, Reps: p.reps, Sets: p.sets, Stage: "standing", Sides: p.sides})
	for n := 1; n <= p.sets; n++ {
		passes := p.sides.Passes()
		for i, side := range passes {
			last := n == p.sets && i == len(passes)-1
			if !d.set(p, n, side, last) {
				return d
			}
		}
		if p.reserve != "" {
			d.at += 8 * second
			d.log(coach.EntryEffort, n, 0, passes[len(passes)-1], &coach.EffortData{Reserve: p.reserve})
		}
		d.at += coach.SessionRate.At(p.rest)
		d.log(coach.EntryRestEnd, n, 0, coach.NoSide, &coach.RestEndData{Seconds: coach.Seconds(p.rest)})
	}
	return d
}

// set is one set on one side; false where the item ends with it.
func (d *diary) set(p plan, n int, side coach.Side, last bool) bool {
	d.at += 20 * second
	d.log(coach.EntrySetStart, n, 0, side, nil)
	d.at += 8 * second
	led, ended := p.reps, coach.EndedComplete
	if last && p.ended != "" && p.ended != coach.EndedComplete {
		led, ended = p.led, p.ended
	}
	confirmed, first := 0, d.at+4*second
	for rep := 1; rep <= led; rep++ {
		d.at += 5 * second
		data := &coach.RepData{}
		if p.tapEvery > 0 {
			tap := first + coach.Samples(rep-1)*p.tapEvery
			data.Confirmed, data.TapSample = true, &tap
			confirmed++
		}
		d.log(coach.EntryRep, n, rep, side, data)
	}
	d.at += second
	if ended == coach.EndedStop {
		d.log(coach.EntryStop, n, 0, side, nil)
	}
	d.log(coach.EntrySetEnd, n, 0, side, &coach.SetEndData{Led: led, Confirmed: confirmed, Ended: ended})
	return ended == coach.EndedComplete || ended == coach.EndedEnough
}

// end ends the session, with a cool-down and the closing question where it
// was completed.
func (d *diary) end(o coach.Outcome) *diary {
	d.item, d.ex = 0, ""
	if o == coach.Completed {
		d.at += 300 * second
		d.log(coach.EntryCoolDownEnd, 0, 0, coach.NoSide, nil)
		d.at += 5 * second
		d.log(coach.EntryQuestion, 0, 0, coach.NoSide, &coach.QuestionData{ID: coach.QuestionClosing, Answer: coach.AnswerWell})
	}
	d.log(coach.EntrySessionEnd, 0, 0, coach.NoSide, &coach.SessionEndData{Outcome: o})
	d.session = ""
	return d
}

// session is a whole session of one exercise.
func (d *diary) whole(id string, start time.Time, p plan) *diary {
	return d.begin(id, start).do(p).end(coach.Completed)
}

func at(day int) time.Time { return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC).AddDate(0, 0, day) }

func kg(milli int64) coach.Load { return coach.Dumbbell(milli, coach.Kilogram) }

func curls(load int64, reps int, r coach.Reserve) plan {
	return plan{ex: "biceps-curl", load: kg(load), reps: reps, sets: 1, reserve: r}
}

// aYear is one patient's year: two whole sessions of eight exercises a week.
func aYear() []coach.Entry {
	d := newDiary("e1", "K4")
	for week := range 52 {
		for _, day := range []int{0, 3} {
			d.begin(fmt.Sprintf("s%d-%d", week, day), at(7*week+day))
			for i := range 8 {
				d.do(plan{ex: fmt.Sprintf("exercise-%d", i), load: kg(4000), reps: 12, sets: 2, reserve: coach.ReserveFew, tapEvery: 5 * second})
			}
			d.end(coach.Completed)
		}
	}
	return d.entries
}
