package plan

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/protocol"
)

// Plan is a whole day plan, complete: defaults stand where the file said
// nothing.
type Plan struct {
	Day      coach.Day
	Until    coach.Day // last day it is for; empty for Day alone
	Clinic   string
	Voice    string              // voice pack
	Unit     coach.Unit          // the clinic's own
	Approval *Approval           // nil while nobody has approved it
	Pace     coach.Pace          // of items that do not say otherwise
	Own      []coach.OwnExercise // exercises the catalogue does not have
	Patients []Patient

	// Protocol is what the plan was read against; nil means the default.
	Protocol *protocol.Protocol
}

// Approval says who stands for the doses.
type Approval struct {
	By     string
	At     time.Time // UTC
	SHA256 string    // the fingerprint that was approved; empty if it was written by hand
	Parent string    // of the approved plan this one was made from without changing a dose; mostly empty
}

// Patient is one person's part of the plan.
type Patient struct {
	Tag             string
	Call            string // a call word spoken instead of the tag; may be empty
	Intro           bool   // play the introduction to the sounds and buttons first, whoever it is
	Note            string // spoken aloud after the welcome; may be empty
	Guide           coach.Guide
	Part            coach.Part
	WarmUp          time.Duration // 0 where the part has none or it is done elsewhere
	CoolDown        time.Duration // 0 where the part has none
	WarmUpElsewhere bool
	// CoolDownElsewhere is true where the cool-down of the part is done
	// somewhere else, after this station.
	CoolDownElsewhere bool
	NextPlace         string          // where the patient goes on to, spoken aloud at the end; may be empty
	NextAt            coach.TimeOfDay // when it is free there, on the clinic's clock; may be empty
	Home              *coach.Home     // nil at the clinic
	Precautions       []coach.Precaution
	Items             []Item
}

// Item is one exercise of one patient's plan.
type Item struct {
	Exercise string
	Dose     coach.Dose
	Sides    coach.Sides
	Pace     coach.Pace  // complete, not only what differs from the plan's
	Last     coach.Done  // zero where the plan does not say
	Words    coach.Words // zero for full
}

// LastDay is the last day the plan is for.
func (p *Plan) LastDay() coach.Day {
	if p.Until != "" {
		return p.Until
	}
	return p.Day
}

// Covers reports whether the plan is for the day.
func (p *Plan) Covers(day coach.Day) bool { return p.Day <= day && day <= p.LastDay() }

// Tags are the patients' tags in the order of the plan.
func (p *Plan) Tags() []string {
	var out []string
	for _, v := range p.Patients {
		out = append(out, v.Tag)
	}
	return out
}

// protocol is what the plan is checked and coached by.
func (p *Plan) protocol() *protocol.Protocol {
	if p.Protocol == nil {
		return protocol.Default()
	}
	return p.Protocol
}
