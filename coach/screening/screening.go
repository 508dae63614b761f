package screening

import (
	"fmt"
	"strconv"

	"evenbell/coach"
	"evenbell/coach/protocol"
)

// Pressure is one blood pressure in mm[Hg].
type Pressure struct{ Systolic, Diastolic float64 }

// Patient is what is known of a patient beforehand.
type Patient struct {
	Conditions []protocol.Key // of the protocol's conditions, those that are so
	Accepted   []protocol.Key // of these, what a supervisor has accepted
	Infarction coach.Day      // a heart attack or bypass surgery; empty for none
	Stent      coach.Day      // a catheter procedure
	Sternotomy coach.Day
	Device     coach.Day // a pacemaker or defibrillator was implanted
	DeviceSide coach.Side
	// EnduranceWeeks is how many weeks of supervised endurance work were done
	// since; nil where nobody knows.
	EnduranceWeeks *int
	METs           *float64 // exercise capacity; nil where it was not tested
	HeartFailure   bool     // then weight is asked for
	SprayOrdered   bool     // then the spray has to be at hand
}

// Today is what was asked and measured on the day; nil is not asked or not
// measured.
type Today struct {
	Day                     coach.Day
	Well, NewSymptoms       *bool
	TabletsTaken            *bool
	SprayAtHand             *bool
	Admitted                *bool     // in hospital since the last session
	Rest                    *Pressure // sitting
	HeartRate               *float64  // at rest
	Glucose                 *float64  // mmol/L
	WeightGain              *float64  // kg over three days
	Lying, Sitting, Upright *Pressure // for the fall on standing up
}

// Line is one thing that was looked at.
type Line struct {
	Verdict protocol.Verdict
	Key     protocol.Key
	What    string // the value, in plain words
	Limit   string // the limit with its source
	Advice  string // what to do; empty where the verdict says it
	Missing bool
}

// Result is the outcome with its lines, in the order they were looked at.
type Result struct {
	Verdict protocol.Verdict
	Lines   []Line
}

// Missing are the lines about what was not asked or measured.
func (r Result) Missing() []Line {
	var out []Line
	for _, l := range r.Lines {
		if l.Missing {
			out = append(out, l)
		}
	}
	return out
}

// Screen judges a patient on a day. The error names a measurement that cannot
// be; then there is no result.
func Screen(p *protocol.Protocol, who Patient, t Today) (Result, error) {
	if err := t.plausible(); err != nil {
		return Result{}, err
	}
	s := &screen{p: p, out: Result{Verdict: protocol.MayStart}}
	s.conditions(who)
	s.answers(who, t)
	s.events(who, t.Day)
	s.measures(who, t)
	s.falls(t)
	return s.out, nil
}

// screen collects the lines.
type screen struct {
	p   *protocol.Protocol
	out Result
}

func (s *screen) line(l Line) {
	s.out.Lines = append(s.out.Lines, l)
	if l.Verdict.Worse(s.out.Verdict) {
		s.out.Verdict = l.Verdict
	}
}

// condition adds a condition that is so.
func (s *screen) condition(k protocol.Key, accepted bool) {
	c := s.p.Condition(k)
	l := Line{Verdict: c.Verdict, Key: k, What: c.Title, Limit: fmt.Sprintf("%s (%s)", c.Verdict, c.Sources[0])}
	if accepted && !c.Verdict.Worse(protocol.Ask) {
		l.Verdict, l.Advice = protocol.MayStart, "accepted by a supervisor"
	}
	s.line(l)
}

func (s *screen) conditions(who Patient) {
	for _, k := range who.Conditions {
		s.condition(k, contains(who.Accepted, k))
	}
}

func contains(all []protocol.Key, k protocol.Key) bool {
	for _, a := range all {
		if a == k {
			return true
		}
	}
	return false
}

// answers adds what was asked; bad is the answer that makes a condition so.
func (s *screen) answers(who Patient, t Today) {
	for _, q := range []struct {
		what   string
		answer *bool
		bad    bool
		key    protocol.Key
		asked  bool
	}{
		{"feeling well", t.Well, false, protocol.NotWell, true},
		{"new symptoms", t.NewSymptoms, true, protocol.NewSymptoms, true},
		{"tablets taken", t.TabletsTaken, false, protocol.TabletsMissed, true},
		{"a stay in hospital", t.Admitted, true, protocol.Admission, true},
		{"the spray at hand", t.SprayAtHand, false, protocol.SprayMissing, who.SprayOrdered},
	} {
		switch {
		case q.answer == nil && q.asked:
			s.missing(q.key, q.what+": not asked")
		case q.answer != nil && *q.answer == q.bad:
			s.condition(q.key, false)
		}
	}
}

// missing adds what is needed and not known.
func (s *screen) missing(k protocol.Key, what string) {
	s.line(Line{Verdict: protocol.Ask, Key: k, What: what, Missing: true})
}

// events adds the weeks since a heart event, and of endurance work since.
func (s *screen) events(who Patient, today coach.Day) {
	for _, e := range []struct {
		what             string
		day              coach.Day
		weeks, endurance protocol.Key
	}{
		{"a heart attack or bypass surgery", who.Infarction, protocol.InfarctionWeeks, protocol.InfarctionEnduranceWeeks},
		{"a catheter procedure", who.Stent, protocol.StentWeeks, protocol.StentEnduranceWeeks},
	} {
		if e.day == "" {
			continue
		}
		weeks := e.day.DaysUntil(today) / 7
		l := Line{Verdict: protocol.MayStart, Key: e.weeks, What: fmt.Sprintf("%d weeks since %s", weeks, e.what), Limit: "at least " + s.p.Allowed(e.weeks)}
		if weeks < s.p.Int(e.weeks) {
			l.Verdict = protocol.NotToday
		}
		s.line(l)
		s.endurance(who.EnduranceWeeks, e.endurance)
	}
}

func (s *screen) endurance(weeks *int, k protocol.Key) {
	if weeks == nil {
		s.missing(k, "weeks of supervised endurance work: not known")
		return
	}
	l := Line{Verdict: protocol.MayStart, Key: k, What: fmt.Sprintf("%d weeks of supervised endurance work", *weeks), Limit: "at least " + s.p.Allowed(k)}
	if *weeks < s.p.Int(k) {
		l.Verdict = protocol.NotToday
	}
	s.line(l)
}

// Precautions are the precautions that follow from what was done to a patient,
// with their last day by the protocol.
func Precautions(p *protocol.Protocol, who Patient) []coach.Precaution {
	var out []coach.Precaution
	if d := who.Sternotomy; d != "" {
		out = append(out, coach.Precaution{Kind: coach.Sternum, Since: d, Until: d.AddDays(7*p.Int(protocol.SternumWeeks) - 1)})
	}
	if d := who.Device; d != "" {
		out = append(out, coach.Precaution{Kind: coach.DeviceArm, Side: who.DeviceSide, Since: d,
			Until: d.AddDays(7*p.Int(protocol.DeviceArmWeeks) - 1)})
	}
	return out
}

// amount writes a measured value with its unit, in plain decimals.
func amount(v float64, unit string) string {
	return strconv.FormatFloat(v, 'f', -1, 64) + " " + unit
}
