package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/plan"
)

// Decide answers the standing proposal for one exercise (DecideProposal). seen
// is Pending.Told: ErrChanged where a newer session came in. to is what is to
// be done instead, with Changed alone; a reason is required to change or
// decline. A change is checked against the protocol and the precautions. A
// decision does nothing until it is in an approved plan.
func (d *Desk) Decide(ctx context.Context, who Actor, tag, exercise, seen string, answer store.Answer, to coach.Dose, reason string) (v store.Decision, err error) {
	if err := who.check(DecideProposal); err != nil {
		return v, err
	}
	err = d.change(ctx, func(ctx context.Context) error {
		c, err := d.caseOf(ctx, tag)
		if err != nil {
			return err
		}
		p, err := c.standing(exercise, seen)
		if err != nil {
			return err
		}
		v, err = d.decide(ctx, who, c, p, answer, to, strings.TrimSpace(reason))
		return err
	})
	return v, err
}

// standing finds the proposal a supervisor looked at.
func (c *patientCase) standing(exercise, seen string) (Pending, error) {
	for _, p := range c.pending() {
		if p.Proposal.Exercise != exercise {
			continue
		}
		if p.Told != seen {
			return p, fmt.Errorf("%w: a newer session came in; look at the proposal again", ErrChanged)
		}
		return p, nil
	}
	return Pending{}, fmt.Errorf("%w: nothing is proposed for %q", ErrNotFound, exercise)
}

func (d *Desk) decide(ctx context.Context, who Actor, c *patientCase, p Pending, answer store.Answer, to coach.Dose, reason string) (store.Decision, error) {
	v := store.Decision{Patient: c.who.ID, Exercise: p.Proposal.Exercise, Session: p.Told, Proposal: p.Proposal, Answer: answer, Reason: reason, By: who.Name, At: d.Time()}
	switch {
	case p.Decision != nil && p.Decision.Used != 0:
		return v, refuse("", "the decision by %s is in an approved plan already; change the plan", p.Decision.By)
	case len([]rune(reason)) > longestAnswer:
		return v, refuse("reason", "is longer than %d letters", longestAnswer)
	case answer != store.Accepted && reason == "":
		return v, refuse("reason", "is empty; say why")
	}
	switch answer {
	case store.Accepted:
		v.To = p.Proposal.To
	case store.Declined:
		v.To = p.Proposal.From
	case store.Changed:
		v.To = to
	default:
		return v, refuse("answer", "%q; accepted, changed or declined", answer)
	}
	if err := c.allows(v.Exercise, v.To); err != nil {
		return v, err
	}
	if p.Decision != nil {
		if err := d.store.UndoDecision(ctx, p.Decision.ID); err != nil {
			return v, err
		}
	}
	v, err := d.store.AddDecision(ctx, v)
	if err != nil {
		return v, err
	}
	return v, d.audit(ctx, who, DecideProposal, c.who.Tag, fmt.Sprintf("%s: %s, %s", v.Exercise, answer, doseWords(v.To)))
}

// allows refuses a dose that no plan of this patient could have.
func (c *patientCase) allows(exercise string, to coach.Dose) error {
	if c.last == nil {
		return refuse("", "%s has no plan yet", c.who.Tag)
	}
	pl := *c.last
	pl.Approval = nil
	v := pl.Patients[0]
	v.Items = nil
	for _, it := range c.last.Patients[0].Items {
		if it.Exercise == exercise {
			v.Items = []plan.Item{withDose(it, to)}
		}
	}
	pl.Patients = []plan.Patient{v}
	if got := checkFor(c.limits, c.who, string(plan.Write(&pl))); got.Plan == nil {
		return Faulty{coach.Errors(got.Faults)}
	}
	return nil
}

// withDose is an item with another dose; where the stage is another that can't
// be done on the same sides, its own way of sharing them.
func withDose(it plan.Item, to coach.Dose) plan.Item {
	it.Dose = to
	if e, ok := catalogue.Find(it.Exercise); ok {
		if st, ok := catalogue.Stage(e, to.Stage); ok && !slices.Contains(st.Sides, it.Sides) && it.Sides != coach.LeftOnly && it.Sides != coach.RightOnly {
			it.Sides = st.Sides[0]
		}
	}
	return it
}

// AcceptHolds accepts every standing proposal that changes nothing and that
// nobody has answered, at once (DecideProposal).
func (d *Desk) AcceptHolds(ctx context.Context, who Actor, tag string) (out []store.Decision, err error) {
	if err := who.check(DecideProposal); err != nil {
		return nil, err
	}
	err = d.change(ctx, func(ctx context.Context) error {
		c, err := d.caseOf(ctx, tag)
		if err != nil {
			return err
		}
		for _, p := range c.pending() {
			if p.Decision != nil || p.Proposal.Action != dose.Hold || p.Proposal.To != p.Proposal.From {
				continue
			}
			v, err := d.decide(ctx, who, c, p, store.Accepted, coach.Dose{}, "")
			if err != nil {
				return err
			}
			out = append(out, v)
		}
		return nil
	})
	return out, err
}

// Undo takes a decision back, until it has gone into an approved plan
// (DecideProposal).
func (d *Desk) Undo(ctx context.Context, who Actor, decision int64) error {
	if err := who.check(DecideProposal); err != nil {
		return err
	}
	return d.change(ctx, func(ctx context.Context) error {
		err := d.store.UndoDecision(ctx, decision)
		if errors.Is(err, store.ErrState) {
			return refuse("", "the decision is in an approved plan already; change the plan")
		}
		if err != nil {
			return notFound(err, "decision %d", decision)
		}
		return d.audit(ctx, who, DecideProposal, "", fmt.Sprintf("decision %d taken back", decision))
	})
}

// doseWords writes a dose for people: "2 × 10 with 2.5 kg".
func doseWords(v coach.Dose) string {
	s := fmt.Sprintf("%d × %d with %s", max(1, v.Sets), v.Reps, v.Load)
	if v.Sets <= 1 {
		s = fmt.Sprintf("%d with %s", v.Reps, v.Load)
	}
	return strings.Replace(s, "with body", "without a weight", 1)
}
