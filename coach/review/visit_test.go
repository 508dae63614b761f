package review

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/protocol"
	"evenbell/coach/session"
)

// talk says every phrase in a second.
type talk struct{}

func (talk) Length(p coach.Phrase) coach.Samples {
	if p.ID == "" {
		return 0
	}
	return second
}

// place is a station of a gym with a log of its own.
type place struct {
	name    string
	entries []coach.Entry
	seq     int64
	sample  coach.Samples
	off     time.Duration // how far its clock is ahead of the truth
	within  time.Duration // how far its times may be off, where a contact gave them
	noClock bool
}

func (p *place) log(id string, start time.Time, entries ...coach.Entry) {
	for _, e := range entries {
		p.seq++
		e.Epoch, e.Seq, e.Boot, e.Session = p.name, p.seq, "boot", id
		if !p.noClock {
			w := start.Add(p.off + seconds(e.Sample)).UTC()
			e.Wall, e.Within = &w, p.within
		}
		p.entries = append(p.entries, e)
	}
}

// goes is how somebody goes through a part; the zero value is well.
type goes struct {
	exercise string // heel-raise unless said
	minus    string // the question answered with minus
	stop     bool   // in the set
	power    bool   // goes in the set, and the station starts anew
	lost     bool   // power goes, and the station has not been heard since
	resumes  string
	tag      string // K4 unless said
}

// plays leads a real session of one exercise and logs it; it gives the moment
// at which it ended, by a true clock.
func (p *place) plays(t *testing.T, id string, part coach.Part, at time.Time, h goes) time.Time {
	t.Helper()
	if h.exercise == "" {
		h.exercise = "heel-raise"
	}
	if h.tag == "" {
		h.tag = "K4"
	}
	prog := &coach.Programme{Day: coach.DayOf(at), Approved: true, Tag: h.tag, Guide: coach.GuideBoth, Part: part,
		WarmedUp: part.HasWarmUp(), CoolsElsewhere: part.HasCoolDown(),
		Patience: coach.Patience{Repeat: 30 * time.Second, Look: time.Minute, Abandon: 5 * time.Minute},
		Items: []coach.Item{{Exercise: h.exercise, Dose: coach.Dose{Load: kg(4000), Reps: 10, Sets: 1, Stage: "standing"}, Sides: coach.BothSides, First: coach.Lift, Position: coach.Standing,
			Pace: coach.Pace{Lift: 2 * time.Second, Lower: 3 * time.Second, Rest: time.Minute, Settle: 5 * time.Second, CountIn: 3}}}}
	s := session.New(prog, talk{}, coach.SessionStartData{Speed: "1", Resumes: h.resumes})
	var out session.Output
	for range 1 << 16 {
		if s.Done() {
			break
		}
		inSet := slices.ContainsFunc(out.Entries, func(e coach.Entry) bool { return e.Kind == coach.EntryRep && e.Rep == 4 })
		if inSet && (h.power || h.lost) {
			break
		}
		if inSet && h.stop && !s.Stopped() {
			s.Press(coach.Stop, s.Pos(), &out)
		}
		w := s.Waiting()
		if w.For == "" || w.For == coach.QuestionSymptom {
			s.Advance(s.Pos()+second/4, &out)
			continue
		}
		s.Advance(max(s.Pos(), w.Prompted)+second/2, &out)
		switch w.For {
		case session.ForReady, session.ForEffort:
			s.Press(coach.Tap, s.Pos(), &out)
		case h.minus:
			s.Press(coach.Minus, s.Pos(), &out)
		default:
			s.Press(coach.Plus, s.Pos(), &out)
		}
	}
	if p.seq == 0 {
		p.log("", at, coach.Entry{Kind: coach.EntryStart, Data: &coach.StartData{}})
	}
	p.log(id, at, out.Entries...)
	end := at.Add(seconds(out.Entries[len(out.Entries)-1].Sample))
	if h.power {
		last, seq := p.name, p.seq
		p.name, p.seq = p.name+"'", 0
		p.log("", end.Add(time.Minute), coach.Entry{Kind: coach.EntryStart, Data: &coach.StartData{PreviousEpoch: last, PreviousSeq: seq}})
	}
	return end
}

// read reviews the logs of places, in the order in which they came.
func visitsOf(places ...*place) []Visit { return logOf(places...).Visits() }

func logOf(places ...*place) *Log {
	var all []coach.Entry
	for _, p := range places {
		all = append(all, p.entries...)
	}
	return Read(all, nil)
}

// ids are the sessions of each visit, in their order.
func ids(all []Visit) []string {
	var out []string
	for _, v := range all {
		s := ""
		for _, stay := range v.Stays {
			s += stay.ID + " "
		}
		out = append(out, s[:len(s)-1])
	}
	return out
}

// class is a morning at three places: each part a minute and a half after the
// one before.
func class(t *testing.T, ways ...goes) (a, b, c *place) {
	a, b, c = &place{name: "A"}, &place{name: "B"}, &place{name: "C"}
	ways = append(ways, make([]goes, 3-len(ways))...)
	end := a.plays(t, "a", coach.First, at(0), ways[0])
	end = b.plays(t, "b", coach.Middle, end.Add(90*time.Second), ways[1])
	c.plays(t, "c", coach.Last, end.Add(90*time.Second), ways[2])
	return a, b, c
}

func TestAVisitIsWhatWasDoneAtAllPlaces(t *testing.T) {
	a, b, c := class(t, goes{exercise: "heel-raise"}, goes{exercise: "biceps-curl"}, goes{exercise: "lateral-raise"})
	for _, came := range [][]*place{{a, b, c}, {c, b, a}, {b, c, a}} { // the last station may have sent first
		log := logOf(came...)
		all := log.Visits()
		require.Equal(t, []string{"a b c"}, ids(all))
		v := all[0]
		assert.Equal(t, "a", v.ID())
		assert.True(t, v.Has("c"))
		assert.True(t, v.Joined())
		assert.Empty(t, v.Missing())
		assert.True(t, v.Over())
		assert.Equal(t, coach.Completed, v.Outcome())
		assert.Equal(t, coach.Day("2026-03-02"), v.Day())
		assert.Equal(t, at(0), v.Start())
		assert.Equal(t, v.Stays[2].End, v.End())
		assert.False(t, v.Doubtful(), "%v", v.Marks())
		assert.Equal(t, coach.ReserveFew, v.Reserve())
		require.Len(t, v.Items(), 3)
		assert.Equal(t, "biceps-curl", v.Items()[1].Exercise)
		assert.Equal(t, []Week{{Monday: "2026-03-02", Days: 1, Wanted: 2}}, log.Weeks("2026-03-02", "2026-03-03", 2))
		assert.Empty(t, log.Findings(protocol.Default(), "2026-03-01", "2026-03-03"))
	}
}

// The rest between two places is by both stations' clocks: from the end of the
// last set at one to the first set at the next, and never shorter than what the
// station lets rest.
func TestTheRestBetweenPlaces(t *testing.T) {
	a, b, c := class(t)
	b.within, c.within = 0, 0
	breaks := visitsOf(a, b, c)[0].Breaks()
	require.Len(t, breaks, 2)
	for _, x := range breaks {
		// 90 s on the way and a minute from the arrival, with the greeting within
		// it; before the end of the last set's log come its effort and farewell.
		assert.Greater(t, x.Rest, 150*time.Second)
		assert.Less(t, x.Rest, 180*time.Second)
		assert.Zero(t, x.Within)
	}
	from, to := breaks[0].From, breaks[0].To
	assert.Equal(t, "a", from.ID)
	assert.Equal(t, "b", to.ID)
	log := func(p *place, kind coach.EntryKind) time.Time {
		i := slices.IndexFunc(p.entries, func(e coach.Entry) bool { return e.Kind == kind })
		return *p.entries[i].Wall
	}
	assert.Equal(t, log(b, coach.EntrySetStart).Sub(log(a, coach.EntrySetEnd)), breaks[0].Rest)

	// A clock ten minutes ahead makes a rest too long, and the next too short.
	a, b, c = &place{name: "A"}, &place{name: "B", off: 10 * time.Minute, within: 2 * time.Second}, &place{name: "C", within: time.Second}
	end := a.plays(t, "a", coach.First, at(0), goes{})
	end = b.plays(t, "b", coach.Middle, end.Add(time.Minute), goes{})
	c.plays(t, "c", coach.Last, end.Add(time.Minute), goes{})
	v := visitsOf(c, a, b)[0]
	assert.Equal(t, []string{"a b c"}, ids([]Visit{v}), "their names order what the clocks do not")
	breaks = v.Breaks()
	assert.Greater(t, breaks[0].Rest, 12*time.Minute)
	assert.Negative(t, breaks[1].Rest)
	assert.Equal(t, 3*time.Second, breaks[1].Within)
	assert.False(t, v.Doubtful(), "no two at the same time")

	b = &place{name: "B", off: 3 * time.Minute}
	end = a.entries[len(a.entries)-1].Wall.Add(0)
	end = b.plays(t, "b", coach.Middle, end.Add(time.Minute), goes{})
	c = &place{name: "C"}
	c.plays(t, "c", coach.Last, end.Add(time.Minute), goes{})
	v = visitsOf(c, a, b)[0]
	assert.True(t, v.Doubtful(), "at two places at the same time, or so it seems")
	assert.Equal(t, []Mark{overlapping}, v.Marks())
}

// A first part whose clock is ten minutes ahead seems to come after the next.
func TestClocksTenMinutesApart(t *testing.T) {
	for _, off := range []time.Duration{-10 * time.Minute, 10 * time.Minute} {
		for n := range 3 {
			places := []*place{{name: "A"}, {name: "B"}, {name: "C"}}
			places[n].off = off
			at := at(0)
			for i, part := range []coach.Part{coach.First, coach.Middle, coach.Last} {
				at = places[i].plays(t, string("abc"[i]), part, at, goes{}).Add(time.Minute)
			}
			all := visitsOf(places...)
			require.Equal(t, []string{"a b c"}, ids(all), "%s at place %d", off, n)
			assert.Empty(t, all[0].Missing())
		}
	}
}

// Times that a contact gave may be known to be uncertain: then the parts may
// seem to overlap by as much.
func TestUncertainTimesDoubtNothing(t *testing.T) {
	a, b := &place{name: "A", off: 3 * time.Minute, within: 4 * time.Minute}, &place{name: "B"}
	end := a.plays(t, "a", coach.First, at(0), goes{})
	b.plays(t, "b", coach.Last, end.Add(time.Minute), goes{})
	v := visitsOf(a, b)[0]
	assert.False(t, v.Doubtful(), "%v", v.Marks())
	assert.Equal(t, 4*time.Minute, v.Breaks()[0].Within)
}

func TestAStopAtTheSecondPlace(t *testing.T) {
	a, b := &place{name: "A"}, &place{name: "B"}
	end := a.plays(t, "a", coach.First, at(0), goes{exercise: "biceps-curl"})
	end = b.plays(t, "b", coach.Middle, end.Add(time.Minute), goes{stop: true})
	v := visitsOf(a, b)[0]
	assert.Equal(t, coach.Stopped, v.Outcome())
	assert.Equal(t, "b", v.Decided().ID)
	assert.True(t, v.Over())
	assert.Empty(t, v.Missing(), "nobody goes on after a stop")

	// Staff looked, cleared it, and the person went on to the last place: that is
	// still the same visit.
	c := &place{name: "C"}
	c.plays(t, "c", coach.Last, end.Add(10*time.Minute), goes{})
	all := visitsOf(c, a, b)
	require.Equal(t, []string{"a b c"}, ids(all))
	assert.Equal(t, coach.Stopped, all[0].Outcome())
	// A first part begins another.
	a.plays(t, "a2", coach.First, end.Add(40*time.Minute), goes{})
	require.Equal(t, []string{"a b c", "a2"}, ids(visitsOf(a, b, c)))
}

func TestNotWellAtALaterPlace(t *testing.T) {
	a, b := &place{name: "A"}, &place{name: "B"}
	end := a.plays(t, "a", coach.First, at(0), goes{})
	b.plays(t, "b", coach.Middle, end.Add(time.Minute), goes{minus: coach.QuestionSymptoms})
	v := visitsOf(a, b)[0]
	assert.Equal(t, coach.Stopped, v.Outcome(), "something had been done")
	assert.Equal(t, coach.NotStarted, v.Decided().Outcome)
	assert.True(t, v.Over())
	alone := &place{name: "C"}
	alone.plays(t, "c", coach.First, at(0), goes{minus: coach.QuestionWell})
	assert.Equal(t, coach.NotStarted, visitsOf(alone)[0].Outcome())
}

func TestAFirstPlaceThatLostPower(t *testing.T) {
	a, b := &place{name: "A"}, &place{name: "B"}
	end := a.plays(t, "a", coach.First, at(0), goes{power: true})
	b.plays(t, "b", coach.Last, end.Add(5*time.Minute), goes{})
	all := visitsOf(b, a)
	require.Equal(t, []string{"a b"}, ids(all))
	assert.Equal(t, coach.Completed, all[0].Outcome(), "it went on elsewhere")
	require.Len(t, all[0].Unended(), 1)
	assert.Equal(t, "a", all[0].Unended()[0].ID)
	assert.False(t, all[0].Doubtful(), "the next epoch knows the end of the one before")

	// It went on there: one visit, also where the power took the clock along.
	for _, noClock := range []bool{false, true} {
		a = &place{name: "A"}
		end = a.plays(t, "a", coach.First, at(0), goes{power: true})
		a.noClock = noClock
		end = a.plays(t, "a2", coach.First, end.Add(3*time.Minute), goes{resumes: "a"})
		b = &place{name: "B"}
		b.plays(t, "b", coach.Last, end.Add(time.Minute), goes{})
		all = visitsOf(b, a)
		require.Equal(t, []string{"a a2 b"}, ids(all), "clock lost: %v", noClock)
		assert.Empty(t, all[0].Unended())
		assert.Empty(t, all[0].Missing())
	}

	// It began anew, and nobody said that it went on.
	a = &place{name: "A"}
	end = a.plays(t, "a", coach.First, at(0), goes{power: true})
	a.plays(t, "a2", coach.First, end.Add(3*time.Minute), goes{})
	require.Equal(t, []string{"a a2"}, ids(visitsOf(a)))

	// The station has not been heard since.
	a, b = &place{name: "A"}, &place{name: "B"}
	end = a.plays(t, "a", coach.First, at(0), goes{lost: true})
	b.plays(t, "b", coach.Last, end.Add(5*time.Minute), goes{})
	assert.True(t, visitsOf(b, a)[0].Doubtful())
}

func TestAWholeSessionThatThePowerCutOff(t *testing.T) {
	a := &place{name: "A"}
	end := a.plays(t, "a", coach.Whole, at(0), goes{power: true})
	a.plays(t, "a2", coach.Whole, end.Add(3*time.Minute), goes{resumes: "a"})
	all := visitsOf(a)
	require.Equal(t, []string{"a a2"}, ids(all))
	assert.Equal(t, coach.Completed, all[0].Outcome())
	assert.Empty(t, all[0].Missing())
	assert.True(t, all[0].Joined())
}

func TestTwoWholeOnOneDay(t *testing.T) {
	a := &place{name: "A"}
	end := a.plays(t, "a", coach.Whole, at(0), goes{})
	a.plays(t, "a2", coach.Whole, end.Add(3*time.Minute), goes{})
	log := logOf(a)
	require.Equal(t, []string{"a", "a2"}, ids(log.Visits()))
	assert.False(t, log.Visits()[0].Joined())
	assert.Equal(t, 1, log.Weeks("2026-03-02", "2026-03-02", 2)[0].Days)
}

func TestPartsThatAreNotHereYet(t *testing.T) {
	a, b, c := class(t)
	for _, x := range []struct {
		came    []*place
		missing []coach.Part
		over    bool
		want    []string
	}{
		{[]*place{a}, []coach.Part{coach.Last}, false, []string{"a"}},
		{[]*place{b}, []coach.Part{coach.First, coach.Last}, false, []string{"b"}},
		{[]*place{b, c}, []coach.Part{coach.First}, true, []string{"b c"}},
		{[]*place{c}, []coach.Part{coach.First}, true, []string{"c"}},
		{[]*place{a, c}, nil, true, []string{"a c"}},
	} {
		log := logOf(x.came...)
		all := log.Visits()
		require.Equal(t, x.want, ids(all))
		assert.Equal(t, x.missing, all[0].Missing())
		assert.Equal(t, x.over, all[0].Over())
		if !x.over {
			assert.Empty(t, all[0].Outcome())
		}
		assert.Empty(t, log.Findings(protocol.Default(), "2026-03-01", "2026-03-02"), "it may be going on")
		assert.Len(t, log.Findings(protocol.Default(), "2026-03-01", "2026-03-03"), len(x.missing))
	}
}

// Two people go round the same places, one behind the other.
func TestTwoPeopleInterleaved(t *testing.T) {
	a, b := &place{name: "A"}, &place{name: "B"}
	end := a.plays(t, "k1", coach.First, at(0), goes{})
	a.plays(t, "m1", coach.First, end.Add(time.Minute), goes{tag: "M2"})
	end = b.plays(t, "k2", coach.Last, end.Add(time.Minute), goes{})
	b.plays(t, "m2", coach.Last, end.Add(time.Minute), goes{tag: "M2"})
	log := logOf(b, a)
	require.Equal(t, []string{"k1 k2", "m1 m2"}, ids(log.Visits()))
	require.Equal(t, []string{"m1 m2"}, ids(log.Of("M2").Visits()))
	for _, v := range log.Visits() {
		assert.False(t, v.Doubtful(), "%v", v.Marks())
	}
}

// Midnight ends no visit, and it counts on the day on which it began.
func TestMidnight(t *testing.T) {
	a, b := &place{name: "A"}, &place{name: "B"}
	end := a.plays(t, "a", coach.First, time.Date(2026, 3, 2, 23, 59, 0, 0, time.UTC), goes{})
	b.plays(t, "b", coach.Last, end.Add(time.Minute), goes{})
	log := logOf(a, b)
	require.Equal(t, coach.Day("2026-03-03"), log.Sessions[1].Day())
	require.Equal(t, []string{"a b"}, ids(log.Visits()))
	assert.Equal(t, coach.Day("2026-03-02"), log.Visits()[0].Day())
	assert.Equal(t, 1, log.Weeks("2026-03-02", "2026-03-08", 2)[0].Days)
	for _, pt := range log.Trend(protocol.Default(), "heel-raise") {
		assert.Equal(t, coach.Day("2026-03-02"), pt.Day)
	}
}

func TestTwoClassesOnOneDay(t *testing.T) {
	a, b, c := class(t)
	afternoon := at(0).Add(5 * time.Hour)
	end := b.plays(t, "b2", coach.Middle, afternoon, goes{}) // the first part's station is not heard
	c.plays(t, "c2", coach.Last, end.Add(time.Minute), goes{})
	all := visitsOf(a, b, c)
	require.Equal(t, []string{"a b c", "b2 c2"}, ids(all))
	assert.Equal(t, []coach.Part{coach.First}, all[1].Missing())
}

// What nobody can date is joined to nothing, until a contact dates it.
func TestPartsWithoutAClock(t *testing.T) {
	a, b, c := class(t)
	for i := range b.entries {
		b.entries[i].Wall = nil
	}
	log := logOf(a, b, c)
	all := log.Visits()
	require.Equal(t, []string{"a c", "b"}, ids(all))
	assert.Empty(t, all[1].Day())
	assert.Empty(t, all[1].Missing())
	assert.Equal(t, 1, log.Weeks("2026-03-02", "2026-03-08", 2)[0].Days)
}

// An event at one place concerns what was done at all of them.
func TestAnEventConcernsTheWholeVisit(t *testing.T) {
	limits := protocol.Default()
	owned, err := dose.ParseOwned("2, 3, 4, 5 kg")
	require.NoError(t, err)
	exercise := coach.Exercise{ID: "biceps-curl", Stages: []coach.Stage{{ID: "standing"}}}
	places := func() (a, b, c *place) { return &place{name: "A"}, &place{name: "B"}, &place{name: "C"} }
	propose := func(clear time.Time, today coach.Day, all ...*place) dose.Proposal {
		h := logOf(all...).History(exercise)
		if !clear.IsZero() {
			h.Clearances = []dose.Clearance{{By: "R. Okafor", At: clear}}
		}
		p, err := dose.Propose(limits, owned, h, today)
		require.NoError(t, err)
		return p
	}

	a, b, c := places()
	end := a.plays(t, "a", coach.First, at(0), goes{})
	end = b.plays(t, "b", coach.Middle, end.Add(time.Minute), goes{exercise: "biceps-curl"})
	end = c.plays(t, "c", coach.Last, end.Add(time.Minute), goes{stop: true})
	assert.Equal(t, dose.RuleSymptom, propose(time.Time{}, "2026-03-03", a, b, c).Rule)

	// Cleared on the spot, the person went on: what followed in the same visit is
	// no quiet session after it, whatever the exercise.
	a, b, c = places()
	end = a.plays(t, "a", coach.First, at(0), goes{stop: true})
	cleared := end.Add(5 * time.Minute)
	end = b.plays(t, "b", coach.Middle, end.Add(10*time.Minute), goes{exercise: "biceps-curl"})
	c.plays(t, "c", coach.Last, end.Add(time.Minute), goes{})
	p := propose(cleared, "2026-03-03", a, b, c)
	assert.Equal(t, dose.RuleAfterSymptom, p.Rule)
	assert.Empty(t, p.Sessions, "not one quiet session yet")
	for n := 1; n <= limits.Int(protocol.ClearSessions); n++ {
		require.Equal(t, dose.RuleAfterSymptom, propose(cleared, "2026-03-12", a, b, c).Rule)
		b.plays(t, fmt.Sprint("w", n), coach.Whole, at(3*n), goes{exercise: "biceps-curl"})
	}
	assert.NotEqual(t, dose.RuleAfterSymptom, propose(cleared, "2026-03-12", a, b, c).Rule)

	// Two alike would make it heavier; with a place of the visit not heard, or
	// doubtful, nothing rises.
	fine := func(lastOne bool, first goes) dose.Proposal {
		a, b, c := places()
		for n := range 3 {
			end := a.plays(t, fmt.Sprint("a", n), coach.First, at(3*n), first)
			end = b.plays(t, fmt.Sprint("b", n), coach.Middle, end.Add(time.Minute), goes{exercise: "biceps-curl"})
			if n < 2 || lastOne {
				c.plays(t, fmt.Sprint("c", n), coach.Last, end.Add(time.Minute), goes{})
			}
		}
		return propose(time.Time{}, "2026-03-09", a, b, c)
	}
	whole := fine(true, goes{})
	assert.NotContains(t, whole.Reasons[0], "incomplete")
	part := fine(false, goes{})
	assert.Equal(t, dose.Hold, part.Action)
	assert.Contains(t, part.Reasons[0], "the log of 2026-03-08 is incomplete")
	assert.Contains(t, fine(true, goes{lost: true}).Reasons[0], "is incomplete", "a stop may be in what is missing")
}

// Years of a large clinic are joined at once.
func BenchmarkJoin(b *testing.B) {
	var all []Stay
	for n := range 24_000 {
		part := []coach.Part{coach.First, coach.Middle, coach.Last}[n%3]
		begun := at(n / 3 % 500).Add(time.Duration(n%3) * 10 * time.Minute)
		all = append(all, Stay{ID: fmt.Sprint("s", n), Tag: fmt.Sprint("K", n/1500), Part: part, Start: begun, End: begun.Add(8 * time.Minute), Outcome: coach.Completed})
	}
	for b.Loop() {
		if got := Join(all); len(got) != len(all)/3 {
			b.Fatalf("%d visits", len(got))
		}
	}
}
