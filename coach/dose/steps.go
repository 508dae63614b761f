package dose

import (
	"fmt"
	"slices"

	"evenbell/coach"
	"evenbell/coach/protocol"
)

// step is the next owned load above the present one.
type step struct {
	load     coach.Load
	exists   bool
	measured bool    // false for a band whose force nobody entered
	percent  float64 // up from the present load, where measured
	big      bool    // more than the protocol's most, or unmeasured
}

// next is the step up: the lightest owned load that is at least the
// protocol's least step heavier, unless only a smaller step stays within its
// most.
func (c *patientCase) next() step {
	var best step
	for _, l := range c.owned.heavier(c.dose.Load) {
		s := c.stepTo(l)
		if !best.exists || best.percent < c.p.Number(protocol.StepLeast) && !best.big && !s.big {
			best = s
		}
	}
	return best
}

func (c *patientCase) stepTo(l coach.Load) step {
	from, ok1 := c.owned.resistance(c.dose.Load)
	to, ok2 := c.owned.resistance(l)
	if !ok1 || !ok2 {
		return step{load: l, exists: true, big: true}
	}
	return step{load: l, exists: true, measured: true,
		percent: float64(to-from) * 100 / float64(from),
		big:     float64(to-from)*100 > c.p.Number(protocol.StepMost)*float64(from)}
}

// top and bottom are the ends of the repetition range; even where the sides
// alternate.
func (c *patientCase) top() int {
	return c.even(c.limited(c.p.Int(protocol.RangeTop)))
}

func (c *patientCase) bottom() int {
	return c.even(c.limited(c.p.Int(protocol.RangeBottom)))
}

// limited is n, or the patient's ceiling of repetitions where that is lower.
func (c *patientCase) limited(n int) int {
	if c.h.Ceiling.Reps > 0 {
		return min(n, c.h.Ceiling.Reps)
	}
	return n
}

func (c *patientCase) even(n int) int {
	if c.h.Sides == coach.Alternating {
		return n - n%2
	}
	return n
}

func (c *patientCase) atTop() bool { return c.dose.Reps >= c.top() }

// willing reports whether the last sessions call for a heavier load: plenty
// left, or some left at the top of the range.
func (c *patientCase) willing() bool {
	seen := c.alike()
	return all(seen, coach.ReserveMany) || c.atTop() && all(seen, coach.ReserveFew)
}

// risen is the dose of each kind of step up, where it is open; the first of
// these is what the rules propose. It is worked out once, so that a step which
// failed lately can be barred before it is proposed.
func (c *patientCase) risen() (Proposal, bool) {
	for _, rule := range []func(*patientCase) (Proposal, bool){ready, bigStep, moreSets, stage} {
		if out, open := rule(c); open {
			return out, true
		}
	}
	return Proposal{}, false
}

// barred: a step that failed lately is not tried again at once.
func barred(c *patientCase) (Proposal, bool) {
	up, open := c.risen()
	if !open {
		return Proposal{}, false
	}
	recent := c.last(c.p.Int(protocol.BarredSessions))
	for i, s := range recent {
		if s.bad() && compareDoses(c.h.Exercise.Stages, s.Dose, c.dose) > 0 && c.sameStep(s.Dose, up) {
			return Proposal{Action: Hold, Rule: RuleBarred, Sessions: recent[i:], Reasons: []string{
				fmt.Sprintf("ready for %s, but %s on %s", describe(up.To), tooMuch(s), coach.DayOf(s.At)),
				"the same step waits for " + c.p.Allowed(protocol.BarredSessions)}}, true
		}
	}
	return Proposal{}, false
}

// sameStep reports whether tried was the step that up would take again.
func (c *patientCase) sameStep(tried coach.Dose, up Proposal) bool {
	if up.Action == Sets {
		return tried.Load == up.To.Load && tried.Sets == up.To.Sets
	}
	return tried.Load == up.To.Load && stageIndex(c.h.Exercise.Stages, tried.Stage) == stageIndex(c.h.Exercise.Stages, up.To.Stage)
}

// ready: the next owned load, within the published step.
func ready(c *patientCase) (Proposal, bool) {
	next := c.next()
	if !next.exists || next.big || !c.willing() {
		return Proposal{}, false
	}
	to := c.dose
	to.Load, to.Reps = next.load, c.bottom()
	return c.firstUp(Proposal{Action: Up, Rule: RuleReady, To: to, Sessions: c.alike(), Reasons: []string{
		c.easy(),
		fmt.Sprintf("%s is %.1f %% up, limit %s", next.load, next.percent, c.p.Allowed(protocol.StepMost)),
		fmt.Sprintf("repetitions back to %d", to.Reps)}}), true
}

// bigStep: a step over the published limit, with as many repetitions as are
// predicted to leave some.
func bigStep(c *patientCase) (Proposal, bool) {
	next, seen := c.next(), c.alike()
	if !next.exists || !next.big || !next.measured || !c.atTop() || !all(seen, coach.ReserveMany) {
		return Proposal{}, false
	}
	spare := c.p.Int(protocol.BigStepReserve)
	predicted := c.predicted(next.load, c.dose.Reps+spare)
	reps := c.even(min(predicted-c.p.Int(protocol.BigStepLess), c.bottom()))
	if reps < c.p.Int(protocol.BigStepLeast) {
		return Proposal{}, false
	}
	to := c.dose
	to.Load, to.Reps = next.load, reps
	return c.firstUp(Proposal{Action: Up, Rule: RuleBigStep, To: to, Sessions: seen, Observe: true, Reasons: []string{
		c.easy(),
		fmt.Sprintf("%s is %.1f %% up, over the limit of %s: a big step", next.load, next.percent, c.p.Allowed(protocol.StepMost)),
		fmt.Sprintf("%d repetitions predicted at %s (Epley, from %d and %d left); %d leave some", predicted, next.load, c.dose.Reps, spare, reps),
		"staff watch the first session"}}), true
}

// predicted is how many full repetitions Epley's equation gives at load, for a
// person who can do reps at the present load. In whole numbers: with w(1+r/30)
// equal at both, r' = (w(30+r) - 30w') / w'.
func (c *patientCase) predicted(load coach.Load, reps int) int {
	from, _ := c.owned.resistance(c.dose.Load)
	to, _ := c.owned.resistance(load)
	return int(max(from*int64(30+reps)-30*to, 0) / to)
}

// moreSets: where the load cannot rise gently, another set.
func moreSets(c *patientCase) (Proposal, bool) {
	next := c.next()
	wanted := min(c.p.Int(protocol.SetsWanted), c.mostSets())
	if next.exists && !next.big || !c.atTop() || !all(c.alike(), coach.ReserveFew) || c.dose.Sets >= wanted {
		return Proposal{}, false
	}
	to := c.dose
	to.Sets++
	return Proposal{Action: Sets, Rule: RuleMoreSets, To: to, Sessions: c.alike(), Reasons: []string{
		c.easy(), c.noGentle(next),
		fmt.Sprintf("one more set first, up to %s", c.p.Allowed(protocol.SetsWanted))}}, true
}

func (c *patientCase) noGentle(next step) string {
	switch {
	case !next.exists:
		return "no heavier load is owned and allowed"
	case !next.measured:
		return fmt.Sprintf("how much harder %s pulls was never entered", next.load)
	}
	return fmt.Sprintf("%s is %.1f %% up, over the limit of %s", next.load, next.percent, c.p.Allowed(protocol.StepMost))
}

// stage: a harder way to do it, where there is no heavier load.
func stage(c *patientCase) (Proposal, bool) {
	if c.next().exists || !c.atTop() || !all(c.alike(), coach.ReserveMany) {
		return Proposal{}, false
	}
	i := stageIndex(c.h.Exercise.Stages, c.dose.Stage) + 1
	if i >= len(c.h.Exercise.Stages) {
		return Proposal{}, false
	}
	harder := c.h.Exercise.Stages[i]
	to, ok := c.inStage(harder)
	if !ok || c.bars(harder) {
		return Proposal{}, false
	}
	to.Reps = c.bottom()
	return Proposal{Action: Stages, Rule: RuleStage, To: to, Sessions: c.alike(), Reasons: []string{
		c.easy(), "no heavier load is owned and allowed",
		fmt.Sprintf("the next stage is %s; repetitions back to %d", harder.Name, to.Reps)}}, true
}

// inStage is the present dose in another stage, with the lightest load that
// it takes where it does not take the present one.
func (c *patientCase) inStage(s coach.Stage) (coach.Dose, bool) {
	to := c.dose
	to.Stage = s.ID
	if slices.Contains(s.Loads, to.Load.Kind()) {
		return to, true
	}
	if slices.Contains(s.Loads, coach.BodyLoad) {
		to.Load = coach.Body()
		return to, true
	}
	for _, kind := range s.Loads {
		if loads := c.owned.Loads(kind); len(loads) > 0 {
			to.Load = loads[0]
			return to, true
		}
	}
	return to, false
}

// stuck: at the top, with no way up.
func stuck(c *patientCase) (Proposal, bool) {
	if !c.atTop() || !all(c.alike(), coach.ReserveFew) {
		return Proposal{}, false
	}
	return Proposal{Action: Hold, Rule: RuleStuck, Sessions: c.alike(),
		Reasons: []string{c.easy(), c.noGentle(c.next()), "no further set and no open stage"},
		Finding: "at the top of the range with no way up: choose another load, stage or exercise"}, true
}

// build: more repetitions within the range.
func build(c *patientCase) (Proposal, bool) {
	if c.atTop() || !all(c.alike(), coach.ReserveFew) {
		return Proposal{}, false
	}
	to := c.dose
	to.Reps = min(c.even(to.Reps+c.p.Int(protocol.RepsStep)), c.top())
	if to.Reps <= c.dose.Reps {
		return Proposal{}, false
	}
	return Proposal{Action: Reps, Rule: RuleBuild, To: to, Sessions: c.alike(), Reasons: []string{
		c.easy(), fmt.Sprintf("build up to the top of the range, %s", c.p.Allowed(protocol.RangeTop))}}, true
}

// down is one owned load less; else an easier stage; else fewer repetitions.
func (c *patientCase) down(rule Rule, why string, seen []Session) Proposal {
	out := Proposal{Action: Down, Rule: rule, To: c.dose, Sessions: seen, Reasons: []string{why}}
	if l, ok := c.owned.lighter(c.dose.Load); ok {
		out.To.Load = l
		out.Reasons = append(out.Reasons, "one owned load less")
		return out
	}
	for i := stageIndex(c.h.Exercise.Stages, c.dose.Stage) - 1; i >= 0; i-- {
		easier := c.h.Exercise.Stages[i]
		if to, ok := c.inStage(easier); ok && !c.bars(easier) {
			out.To = to
			out.Reasons = append(out.Reasons, "no lighter load is owned; an easier stage: "+easier.Name)
			return out
		}
	}
	reps := max(c.even(c.dose.Reps-c.p.Int(protocol.RepsStep)), c.even(c.p.Int(protocol.RepsFloor)))
	if reps < c.dose.Reps {
		out.To.Reps = reps
		out.Reasons = append(out.Reasons, "no lighter load and no easier stage; fewer repetitions, not under "+c.p.Allowed(protocol.RepsFloor))
		return out
	}
	out.Action, out.Finding = Hold, "too much, and nothing less can be chosen: another exercise"
	out.Reasons = append(out.Reasons, "no lighter load, no easier stage and no fewer repetitions")
	return out
}

// firstUp asks for an effort that staff observed, where this exercise has
// never been stepped up before.
func (c *patientCase) firstUp(out Proposal) Proposal {
	for i := 1; i < len(c.sessions); i++ {
		if compareLoads(c.sessions[i].Dose.Load, c.sessions[i-1].Dose.Load) > 0 {
			return out
		}
	}
	if !slices.ContainsFunc(out.Sessions, func(s Session) bool { return s.Observed }) {
		out.Observe = true
		out.Reasons = append(out.Reasons, "first step up of this exercise: staff observe the effort of one set before it is approved")
	}
	return out
}
