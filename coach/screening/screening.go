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
	Conditions []protocol.Key // of those asked Beforehand, those that are so
	Absent     []protocol.Key // those that were asked and are not so; one in neither list was not asked
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

// Beforehand are the conditions that are asked once, before anybody starts.
var Beforehand = []protocol.Key{
	protocol.UnstableCoronary, protocol.Arrhythmia, protocol.Decompensated, protocol.Stenosis,
	protocol.PulmonaryHypertension, protocol.Carditis, protocol.Marfan, protocol.Dissection,
	protocol.Diabetes, protocol.JointLimits, protocol.Device, protocol.RiskFactors,
}

// has reports whether a condition is so, by what was answered or by a date
// that says it, whatever was answered.
func (who Patient) has(k protocol.Key) bool {
	return contains(who.Conditions, k) || k == protocol.Device && who.Device != ""
}

// conditions adds those that are so and those that nobody asked about.
func (s *screen) conditions(who Patient) {
	for _, k := range who.Conditions {
		s.condition(k, contains(who.Accepted, k))
	}
	for _, k := range Beforehand {
		switch {
		case contains(who.Conditions, k):
		case who.has(k):
			s.condition(k, contains(who.Accepted, k))
		case !contains(who.Absent, k):
			s.missing(k, s.p.Condition(k).Title+": not asked")
		}
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

// events adds the weeks since a heart event, and of endurance work since. An
// opened breastbone counts as heart surgery whatever it was opened for, and
// while it heals the supervisor is asked.
func (s *screen) events(who Patient, today coach.Day) {
	for _, e := range []struct {
		what             string
		day              coach.Day
		weeks, endurance protocol.Key
	}{
		{"a heart attack or bypass surgery", who.Infarction, protocol.InfarctionWeeks, protocol.InfarctionEnduranceWeeks},
		{"a catheter procedure", who.Stent, protocol.StentWeeks, protocol.StentEnduranceWeeks},
		{"heart surgery through the breastbone", unless(who.Infarction, who.Sternotomy), protocol.InfarctionWeeks, protocol.InfarctionEnduranceWeeks},
	} {
		if e.day == "" {
			continue
		}
		s.since(e.what, e.day, today, e.weeks, protocol.NotToday)
		s.endurance(who.EnduranceWeeks, e.endurance)
	}
	if who.Sternotomy != "" {
		s.since("the breastbone was opened", who.Sternotomy, today, protocol.SternumWeeks, protocol.Ask)
	}
}

// unless is day, or nothing where another event of the same day or a later one
// says as much.
func unless(other, day coach.Day) coach.Day {
	if other >= day {
		return ""
	}
	return day
}

// since adds how long ago something was; sooner is what fewer weeks than the
// protocol's mean.
func (s *screen) since(what string, day, today coach.Day, weeks protocol.Key, sooner protocol.Verdict) {
	n := day.DaysUntil(today) / 7
	l := Line{Verdict: protocol.MayStart, Key: weeks, What: weeksWords(n) + " since " + what, Limit: "at least " + s.p.Allowed(weeks)}
	if n < s.p.Int(weeks) {
		l.Verdict = sooner
	}
	s.line(l)
}

func weeksWords(n int) string {
	if n == 1 {
		return "1 week"
	}
	return fmt.Sprintf("%d weeks", n)
}

func (s *screen) endurance(weeks *int, k protocol.Key) {
	if weeks == nil {
		s.missing(k, "weeks of supervised endurance work: not known")
		return
	}
	l := Line{Verdict: protocol.MayStart, Key: k, What: weeksWords(*weeks) + " of supervised endurance work", Limit: "at least " + s.p.Allowed(k)}
	if *weeks < s.p.Int(k) {
		l.Verdict = protocol.NotToday
	}
	s.line(l)
}

// Precautions are the precautions that follow from what was done to a patient,
// each with its last day as Protocol.LastDay counts it.
func Precautions(p *protocol.Protocol, who Patient) []coach.Precaution {
	var out []coach.Precaution
	if d := who.Sternotomy; d != "" {
		out = append(out, coach.Precaution{Kind: coach.Sternum, Since: d})
	}
	if d := who.Device; d != "" {
		out = append(out, coach.Precaution{Kind: coach.DeviceArm, Side: who.DeviceSide, Since: d})
	}
	for i := range out {
		out[i].Until = p.LastDay(out[i])
	}
	return out
}

// amount writes a measured value with its unit, in plain decimals.
func amount(v float64, unit string) string {
	return strconv.FormatFloat(v, 'f', -1, 64) + " " + unit
}
