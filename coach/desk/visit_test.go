package desk_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/review"
	"evenbell/coach/session"
)

// brisk says every phrase in a second.
type brisk struct{}

func (brisk) Length(p coach.Phrase) coach.Samples {
	if p.ID == "" {
		return 0
	}
	return coach.Samples(coach.SessionRate)
}

// coaches leads a real session of the tag by the plan the station has, well to
// its end or to a stop in the first set, and logs it; time passes meanwhile.
func (d *device) coaches(id, tag string, stop bool) {
	p, err := d.c.link.Plan(ctx, d.peer, d.state().Plan)
	require.NoError(d.c.t, err)
	pl, faults := plan.Read("plan", []byte(p.Text), nil)
	require.NotNil(d.c.t, pl, "%v", faults)
	prog, err := pl.Resolve(tag, pl.Day)
	require.NoError(d.c.t, err)
	s := session.New(&prog, brisk{}, coach.SessionStartData{Plan: pl.Fingerprint(), Speed: "1"})
	var out session.Output
	for !s.Done() {
		inSet := slices.ContainsFunc(out.Entries, func(e coach.Entry) bool { return e.Kind == coach.EntryRep })
		w := s.Waiting()
		switch {
		case stop && inSet && !s.Stopped():
			s.Press(coach.Stop, s.Pos(), &out)
			continue
		case w.For == "" || w.For == coach.QuestionSymptom:
			s.Advance(s.Pos()+coach.SessionRate.At(time.Second/4), &out)
			continue
		}
		s.Advance(max(s.Pos(), w.Prompted)+coach.SessionRate.At(time.Second/2), &out)
		if w.For == session.ForReady || w.For == session.ForEffort {
			s.Press(coach.Tap, s.Pos(), &out)
		} else {
			s.Press(coach.Plus, s.Pos(), &out)
		}
	}
	begin := d.c.time()
	for _, e := range out.Entries {
		at := begin.Add(coach.SessionRate.Duration(e.Sample))
		e.Session, e.Tag, e.Wall = id, tag, &at
		d.add(e)
	}
	d.c.pass(coach.SessionRate.Duration(s.End()) + time.Minute)
}

// way are the two stations of a class in the order in which a tag goes to them.
func way(t *testing.T, bays []*device, tag string) (first, last *device) {
	for _, bay := range bays {
		p, err := bay.c.link.Plan(ctx, bay.peer, bay.state().Plan)
		require.NoError(t, err)
		pl, _ := plan.Read("plan", []byte(p.Text), nil)
		require.NotNil(t, pl)
		for _, v := range pl.Patients {
			switch {
			case v.Tag == tag && v.Part == coach.First:
				first = bay
			case v.Tag == tag && v.Part == coach.Last:
				last = bay
			}
		}
	}
	require.NotNil(t, first)
	require.NotNil(t, last)
	return first, last
}

func (c *clinic) onDay(tag string) desk.Comer {
	today, err := c.Today(ctx)
	require.NoError(c.t, err)
	d, err := c.Day(ctx, lind, today)
	require.NoError(c.t, err)
	i := slices.IndexFunc(d.Comers, func(x desk.Comer) bool { return x.Tag == tag })
	require.GreaterOrEqual(c.t, i, 0)
	return d.Comers[i]
}

func (c *clinic) visitOf(id string) *desk.VisitView {
	v, err := c.Visit(ctx, lind, id)
	require.NoError(c.t, err)
	return v
}

// The station that leads the last part sends its log first; the desk knows by
// the plans of the day whose part it waits for.
func TestAVisitOfAClassWhoseLastStationSendsFirst(t *testing.T) {
	c, _, bays := inGym(t)
	first, last := way(t, bays, "K4")
	first.coaches("one", "K4", false)
	last.coaches("two", "K4", false)
	last.upload()
	v := c.visitOf("two")
	assert.Equal(t, []coach.Part{coach.First}, v.Missing())
	assert.Equal(t, []string{"the part at " + first.peer.Name + " is not here yet"}, v.NotHere())
	assert.Equal(t, desk.Done, c.onDay("K4").State, "the last part has ended")

	first.upload()
	v = c.visitOf("two")
	require.Equal(t, v.Visit, c.visitOf("one").Visit)
	assert.Equal(t, "one", v.ID())
	assert.Empty(t, v.NotHere())
	assert.True(t, v.Whole())
	assert.Equal(t, coach.Completed, v.Outcome())
	assert.Equal(t, first.peer.Name, v.Places["one"])
	assert.Equal(t, last.peer.Name, v.Places["two"])
	require.Len(t, v.Breaks(), 1)
	assert.Greater(t, v.Breaks()[0].Rest, time.Minute)

	r, err := c.Review(ctx, okafor, "K4", "", "")
	require.NoError(t, err)
	require.Len(t, r.Visits, 1)
	require.Len(t, r.Log.Sessions, 2)
	assert.Equal(t, 1, r.Weeks[len(r.Weeks)-1].Days)
	s, err := c.Session(ctx, lind, "two")
	require.NoError(t, err)
	assert.True(t, s.Visit.Has("one"))
	_, err = c.Visit(ctx, lind, "nothing")
	assert.ErrorIs(t, err, desk.ErrNotFound)
}

func TestAVisitThatGoesOn(t *testing.T) {
	c, _, bays := inGym(t)
	first, last := way(t, bays, "K4")
	first.coaches("one", "K4", false)
	first.upload()
	assert.NotEqual(t, desk.Done, c.onDay("K4").State)
	assert.Empty(t, c.onDay("K4").Outcome)
	r := c.review()
	assert.Equal(t, []string{"the part at " + last.peer.Name + " is not here yet"}, r.Visits[0].NotHere())
	for _, p := range r.Proposals {
		assert.Equal(t, p.Proposal.From, p.Proposal.To, "nothing rises while a part is missing")
	}
	assert.Empty(t, r.Findings, "it may be going on")
	c.pass(24 * time.Hour)
	require.Len(t, c.review().Findings, 1)
	assert.Equal(t, "the part at "+last.peer.Name+" is not here yet", c.review().Findings[0].Reason)
}

// Who left between two places is awaited nowhere: the class was repaired, and
// the plans of the day have no other part.
func TestAVisitThatWentNoFurther(t *testing.T) {
	c, k, bays := inGym(t)
	first, last := way(t, bays, "K4")
	c.pass(5*time.Minute + time.Duration(arrival(c.class(k.ID), "K4", first.peer.Name))*time.Second)
	first.coaches("one", "K4", false)
	first.upload()
	require.NoError(t, c.Left(ctx, lind, k.ID, "K4"))
	require.NotContains(t, c.orderAt(last), "K4")
	require.Contains(t, c.orderAt(first), "K4")
	c.pass(24 * time.Hour)
	r := c.review()
	require.Len(t, r.Visits, 1)
	assert.True(t, r.Visits[0].WentNoFurther())
	assert.Empty(t, r.Visits[0].NotHere())
	assert.True(t, r.Visits[0].Whole())
	require.Len(t, r.Findings, 1)
	assert.Contains(t, r.Findings[0].Reason, "went no further")
}

func TestAStopAtTheSecondPlaceEndsTheDay(t *testing.T) {
	c, _, bays := inGym(t)
	first, last := way(t, bays, "M2")
	first.coaches("one", "M2", false)
	last.coaches("two", "M2", true)
	first.upload()
	last.upload()
	v := c.visitOf("one")
	assert.Equal(t, coach.Stopped, v.Outcome())
	assert.Equal(t, "two", v.Decided().ID)
	assert.Empty(t, v.NotHere())
	require.Len(t, v.Attentions, 2, "the stop, and a question about it that nobody answered")
	assert.Equal(t, last.peer.Name, v.Attentions[0].StationName)
	got := c.onDay("M2")
	assert.Equal(t, desk.Done, got.State)
	assert.Equal(t, coach.Stopped, got.Outcome)
	assert.True(t, got.Held)
}

// The log says of a visit what the list of sessions says.
func TestJoinedAlikeByListAndLog(t *testing.T) {
	c, _, bays := inGym(t)
	for _, tag := range []string{"K4", "M2", "B7"} {
		first, last := way(t, bays, tag)
		first.coaches(tag+"1", tag, false)
		last.coaches(tag+"2", tag, tag == "B7")
		first.upload()
		last.upload()
	}
	all, err := c.store.Sessions(ctx, store.SessionFilter{})
	require.NoError(t, err)
	byList := desk.Join(all)
	require.Len(t, byList, 3)
	for _, v := range byList {
		r, err := c.Review(ctx, okafor, v.Tag, "", "")
		require.NoError(t, err)
		require.Len(t, r.Visits, 1)
		assert.Equal(t, idsOf(v), idsOf(r.Visits[0]))
		assert.Equal(t, v.Outcome(), r.Visits[0].Outcome())
		assert.Equal(t, v.Over(), r.Visits[0].Over())
	}
}

func idsOf(v review.Visit) (out []string) {
	for _, s := range v.Stays {
		out = append(out, s.ID)
	}
	return out
}
