package desk

import (
	"context"
	"errors"
	"fmt"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// briefAfter is after how many sessions of an exercise less is said about it.
// common practice, no source.
const briefAfter = 3

// NextPlan drafts the next prescription (WritePlan): the newest one for today,
// with the doses that were decided, what was last done filled in, and fewer
// words where an exercise was done three times. A supervisor approves it like
// any other.
func (d *Desk) NextPlan(ctx context.Context, who Actor, tag string) (rx store.Prescription, c *Checked, err error) {
	s, err := d.suggester(ctx, who, tag)
	if err != nil {
		return rx, nil, err
	}
	k, err := d.caseOf(ctx, tag)
	if err != nil {
		return rx, nil, err
	}
	if k.last == nil {
		return rx, nil, refuse("", "%s has no plan yet to go on from", k.who.Tag)
	}
	pl := s.again(k.last)
	for _, it := range k.last.Patients[0].Items {
		if to, decided := k.decided(it.Exercise); decided {
			it = withDose(it, to)
		}
		it.Last, it.Words = k.lastDone(it), k.words(it)
		s.add(&pl.Patients[0], it, false)
	}
	s.own(pl)
	return d.draft(ctx, who, k.who, string(plan.Write(pl)))
}

// decided is the dose a supervisor decided on that is in no approved plan yet.
func (c *patientCase) decided(exercise string) (coach.Dose, bool) {
	for _, v := range c.decisions {
		if v.Exercise == exercise {
			return v.To, v.Used == 0 // an older one was overtaken
		}
	}
	return coach.Dose{}, false
}

// lastDone is what a patient did of an exercise last time: the repetitions of
// the first set, on one side. What can't be trusted or was not begun is not
// told them.
func (c *patientCase) lastDone(it plan.Item) coach.Done {
	for i := len(c.log.Sessions) - 1; i >= 0; i-- {
		s := c.log.Sessions[i]
		if s.Doubtful || s.Start.IsZero() {
			continue
		}
		for _, x := range s.Items {
			if x.Exercise == it.Exercise && x.Worked() && len(x.Sets) > 0 && x.Sets[0].Led > 0 {
				return coach.Done{Load: x.Dose.Load, Reps: x.Sets[0].Led}
			}
		}
	}
	return it.Last
}

// words is how much is said about an exercise.
func (c *patientCase) words(it plan.Item) coach.Words {
	if it.Words != "" {
		return it.Words
	}
	n := 0
	for _, s := range c.log.Sessions {
		for _, x := range s.Items {
			if x.Exercise == it.Exercise && x.Dose.Stage == it.Dose.Stage && x.Result == dose.Complete {
				n++
			}
		}
	}
	if n >= briefAfter {
		return coach.WordsBrief
	}
	return ""
}

// since says how the newest approved prescription differs from the one before.
func (d *Desk) since(ctx context.Context, c *patientCase) ([]string, error) {
	all, err := d.store.PrescriptionsOf(ctx, c.who.ID)
	if err != nil {
		return nil, err
	}
	var two []*plan.Plan
	for _, rx := range all {
		if rx.Approved == "" {
			continue
		}
		for _, limits := range []*protocol.Protocol{c.limits, protocol.Default()} {
			if pl, _ := plan.Read(prescriptionName, []byte(rx.Text), limits); pl != nil {
				two = append(two, pl)
				break
			}
		}
		if len(two) == 2 {
			return differences(two[1].Patients[0], two[0].Patients[0]), nil
		}
	}
	return nil, nil
}

// differences are what changed from one plan of a patient to the next, in plain
// words.
func differences(before, after plan.Patient) []string {
	var out []string
	old := map[string]plan.Item{}
	for _, it := range before.Items {
		old[it.Exercise] = it
	}
	for _, it := range after.Items {
		was, there := old[it.Exercise]
		delete(old, it.Exercise)
		name := exerciseName(it.Exercise)
		switch {
		case !there:
			out = append(out, fmt.Sprintf("%s is new: %s", name, doseWords(it.Dose)))
		case was.Dose != it.Dose:
			out = append(out, fmt.Sprintf("%s: %s, was %s%s", name, doseWords(it.Dose), doseWords(was.Dose), stageWords(was, it)))
		case was.Sides != it.Sides || was.Pace != it.Pace:
			out = append(out, fmt.Sprintf("%s: the sides or the pace changed", name))
		}
	}
	for _, it := range before.Items {
		if _, left := old[it.Exercise]; left {
			out = append(out, exerciseName(it.Exercise)+" was left out")
		}
	}
	if before.WarmUp != after.WarmUp || before.CoolDown != after.CoolDown {
		out = append(out, "the warm-up or the cool-down changed")
	}
	if daysBetween(before) != daysBetween(after) {
		out = append(out, fmt.Sprintf("days of rest between sessions at home: %d, was %d", daysBetween(after), daysBetween(before)))
	}
	return out
}

func daysBetween(p plan.Patient) int {
	if p.Home == nil {
		return 0
	}
	return p.Home.DaysBetween
}

func stageWords(was, is plan.Item) string {
	if was.Dose.Stage == is.Dose.Stage {
		return ""
	}
	return fmt.Sprintf(" (%s, was %s)", is.Dose.Stage, was.Dose.Stage)
}

func exerciseName(id string) string {
	if e, ok := catalogue.Find(id); ok {
		return e.Name
	}
	return id
}

// Start is a load to begin an exercise with, after a trial set (WritePlan).
func (d *Desk) Start(ctx context.Context, who Actor, exercise string, trial coach.Load, reps, reserve int) (dose.Start, error) {
	if err := who.check(WritePlan); err != nil {
		return dose.Start{}, err
	}
	e, ok := catalogue.Find(exercise)
	if !ok {
		return dose.Start{}, fmt.Errorf("%w: no exercise is called %q", ErrNotFound, exercise)
	}
	clinic, err1 := d.Clinic(ctx)
	owned, err2 := clinic.owned()
	limits, err3 := d.Protocol(ctx)
	if err := errors.Join(err1, err2, err3); err != nil {
		return dose.Start{}, err
	}
	s, err := dose.StartFromTrial(limits, owned, e.Region, trial, reps, reserve)
	if err != nil {
		return s, refuse("trial", "%v", err)
	}
	return s, nil
}
