package plan

import (
	"fmt"
	"strings"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/protocol"
)

// Resolve gives what a station coaches one patient on a day of the plan, with
// the facts of the catalogue and the protocol copied in. It fails on a tag
// that is not in the plan, on a day the plan is not for, and on an exercise
// or stage that is not in the catalogue.
func (p *Plan) Resolve(tag string, day coach.Day) (coach.Programme, error) {
	if !p.Covers(day) {
		return coach.Programme{}, fmt.Errorf("the plan is for %s, not for %s", p.days(), day)
	}
	for _, v := range p.Patients {
		if v.Tag == tag {
			return p.programme(v, day)
		}
	}
	return coach.Programme{}, fmt.Errorf("nobody in the plan has the tag %q; it has %s", tag, strings.Join(p.Tags(), ", "))
}

func (p *Plan) days() string {
	if p.LastDay() == p.Day {
		return string(p.Day)
	}
	return fmt.Sprintf("%s to %s", p.Day, p.LastDay())
}

func (p *Plan) programme(v Patient, day coach.Day) (coach.Programme, error) {
	rules := p.protocol()
	out := coach.Programme{
		Day: day, Clinic: p.Clinic, Approved: p.Approval != nil,
		Tag: v.Tag, Call: v.Call, Note: v.Note, Intro: v.Intro, Guide: v.Guide, Part: v.Part, Home: v.Home,
		WarmUp: v.WarmUp, CoolDown: v.CoolDown, WarmedUp: v.WarmUpElsewhere,
		CoolsElsewhere: v.CoolDownElsewhere, Next: coach.Next{Place: v.NextPlace, At: v.NextAt},
		SitBefore: rules.Seconds(protocol.SitBeforeStanding),
		Patience: coach.Patience{
			Repeat:  rules.Seconds(protocol.AnswerRepeat),
			Look:    rules.Seconds(protocol.AnswerLook),
			Abandon: rules.Seconds(protocol.AnswerAbandon),
		},
	}
	out.Own = p.ownOf(v.Items)
	for n, item := range v.Items {
		ready, err := p.resolve(item)
		if err != nil {
			return coach.Programme{}, fmt.Errorf("item %d of %s: %w", n+1, v.Tag, err)
		}
		out.Items = append(out.Items, ready)
	}
	return out, nil
}

func (p *Plan) resolve(v Item) (coach.Item, error) {
	_, stage, ok := p.facts(v)
	if !ok {
		return coach.Item{}, fmt.Errorf("%s at stage %q is not in the catalogue", v.Exercise, v.Dose.Stage)
	}
	out := coach.Item{
		Exercise: v.Exercise, Dose: v.Dose, Sides: v.Sides,
		First: stage.First, Position: stage.Position, Pace: v.Pace, Last: v.Last, Words: v.Words,
	}
	if v.Dose.Load.Kind() == coach.DumbbellLoad {
		out.Dumbbells = catalogue.Hands(stage, v.Sides)
	}
	return out, nil
}
