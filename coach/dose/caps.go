package dose

import (
	"fmt"
	"slices"

	"evenbell/coach"
	"evenbell/coach/protocol"
)

// within is what of o is no heavier than the ceilings allow.
func within(p *protocol.Protocol, o Owned, ceiling Ceiling) Owned {
	dumbbell, _ := coach.ParseLoad(coach.Decimal(int64(p.Number(protocol.DumbbellMost)*1000)) + " kg")
	band := coach.Band(p.Int(protocol.BandMost))
	over := func(l coach.Load) bool {
		return compareLoads(l, dumbbell) > 0 || compareLoads(l, band) > 0 || overCeiling(l, ceiling)
	}
	o.dumbbells = slices.DeleteFunc(slices.Clone(o.dumbbells), over)
	o.bands = slices.DeleteFunc(slices.Clone(o.bands), func(b BandLevel) bool { return over(coach.Band(b.Level)) })
	return o
}

func overCeiling(l coach.Load, ceiling Ceiling) bool {
	return ceiling.Load != coach.Body() && compareLoads(l, ceiling.Load) > 0
}

func (c *patientCase) mostSets() int {
	if c.h.Ceiling.Sets > 0 {
		return min(c.p.Int(protocol.SetsMost), c.h.Ceiling.Sets)
	}
	return c.p.Int(protocol.SetsMost)
}

// bars reports whether a precaution in force goes against a stage. A bar that
// leaves the other side free bars it too where the item works that side.
func (c *patientCase) bars(s coach.Stage) bool {
	for _, pre := range c.h.Precautions {
		inForce := c.inForce(pre)
		for _, bar := range s.Bars {
			if inForce && bar.Kind == pre.Kind && !(bar.OneSided && otherSide(c.h.Sides, pre.Side)) {
				return true
			}
		}
	}
	return false
}

// inForce reports whether a precaution still holds today. One whose end is not
// given lasts the protocol's weeks from the event, and for ever where the
// event is not known or the protocol has no weeks for its kind.
func (c *patientCase) inForce(pre coach.Precaution) bool {
	until := c.p.LastDay(pre)
	return until == "" || until >= c.today
}

// otherSide reports whether an item works only the side the precaution is not on.
func otherSide(s coach.Sides, trouble coach.Side) bool {
	return s == coach.LeftOnly && trouble == coach.Right || s == coach.RightOnly && trouble == coach.Left
}

// capped keeps what is proposed within the ceilings and the precautions, also
// where these were set after the dose. The rule stays the one that fitted.
func (c *patientCase) capped(out Proposal) Proposal {
	stages := c.h.Exercise.Stages
	if len(stages) > 0 && c.bars(stages[stageIndex(stages, out.To.Stage)]) {
		out.Action, out.To = Hold, c.dose
		out.Reasons = append(out.Reasons, "a precaution in force goes against this exercise as it is")
		return out.find("a precaution goes against the planned exercise: leave it out")
	}
	to, owns := c.most(out.To)
	if now, _ := c.most(c.dose); now != c.dose {
		to = now // first bring the dose under its ceiling, then judge it there
	}
	if !owns {
		return out.find("every owned load is over the ceiling: leave the exercise out")
	}
	if to == out.To {
		return out
	}
	if out.Action != Up && out.Action != Stages {
		out.Action = Down
	}
	out.To = to
	out.Reasons = append(out.Reasons, "brought down to the most this patient may be given: "+describe(to))
	return out
}

// most is d brought down to what the ceilings allow; false where no load that
// is owned is light enough.
func (c *patientCase) most(d coach.Dose) (coach.Dose, bool) {
	if n := c.limited(d.Reps); n < d.Reps {
		d.Reps = c.even(n)
	}
	d.Sets = min(d.Sets, c.mostSets())
	if !c.tooHeavy(d.Load) {
		return d, true
	}
	loads := c.owned.Loads(d.Load.Kind())
	if len(loads) == 0 {
		return d, false
	}
	d.Load = loads[len(loads)-1]
	return d, true
}

// find adds a finding to those already there.
func (out Proposal) find(f string) Proposal {
	if out.Finding != "" {
		f = out.Finding + "; " + f
	}
	out.Finding = f
	return out
}

// tooHeavy reports whether a load is over every ceiling: heavier than what is
// left of the owned ones and forbidden by the patient's or the protocol's.
func (c *patientCase) tooHeavy(l coach.Load) bool {
	if overCeiling(l, c.h.Ceiling) {
		return true
	}
	return l.Kind() == coach.DumbbellLoad && l.Grams() > c.p.Number(protocol.DumbbellMost)*1000 ||
		l.Kind() == coach.BandLoad && l.Band() > c.p.Int(protocol.BandMost)
}

// overlong adds a finding to a dose that has been held for very long, so that
// none is held for ever unseen.
func (c *patientCase) overlong(out Proposal) Proposal {
	n := 0
	for i := len(c.sessions) - 1; i >= 0 && c.sessions[i].Dose == c.dose; i-- {
		n++
	}
	if out.Action == Hold && out.Finding == "" && n >= c.p.Int(protocol.UnchangedSessions) {
		out.Finding = fmt.Sprintf("%d sessions at one dose without a change; limit %s", n, c.p.Allowed(protocol.UnchangedSessions))
	}
	return out
}

// Visit holds back all but the first few steps up of what is proposed for one
// patient at one visit, in the order given.
func Visit(p *protocol.Protocol, proposals []Proposal) []Proposal {
	out := slices.Clone(proposals)
	ups := 0
	for i := range out {
		if out[i].Action != Up {
			continue
		}
		if ups++; ups > p.Int(protocol.UpsPerVisit) {
			out[i].Action, out[i].Rule, out[i].To, out[i].Observe = Hold, RuleVisit, out[i].From, false
			out[i].Reasons = append(slices.Clone(out[i].Reasons),
				"held back: at one visit no more rise than "+p.Allowed(protocol.UpsPerVisit))
		}
	}
	return out
}
