package screening

import (
	"fmt"

	"evenbell/coach/protocol"
)

// bound is one limit on a measured value, the worse ones first.
type bound struct {
	key     protocol.Key
	over    func(v, limit float64) bool
	verdict protocol.Verdict
	word    string
	advice  string
}

func above(v, limit float64) bool  { return v > limit }
func below(v, limit float64) bool  { return v < limit }
func noLessThan(v, l float64) bool { return v >= l }

// against adds a line for the first bound that v is beyond, or one that says
// that it is within the last.
func (s *screen) against(what string, v float64, unit string, bounds ...bound) {
	for _, b := range bounds {
		if b.over(v, s.p.Number(b.key)) {
			s.line(Line{Verdict: b.verdict, Key: b.key, What: what + " " + amount(v, unit), Limit: b.word + " " + s.p.Allowed(b.key), Advice: b.advice})
			return
		}
	}
	b := bounds[len(bounds)-1]
	s.line(Line{Verdict: protocol.MayStart, Key: b.key, What: what + " " + amount(v, unit), Limit: "not " + b.word + " " + s.p.Allowed(b.key)})
}

// measures adds what was measured at rest.
func (s *screen) measures(who Patient, t Today) {
	if t.Rest == nil {
		s.missing(protocol.SystolicMost, "blood pressure at rest: not measured")
	} else {
		s.against("systolic pressure", t.Rest.Systolic, "mm[Hg]",
			bound{protocol.SystolicMost, above, protocol.NotToday, "above", ""},
			bound{protocol.SystolicAsk, above, protocol.Ask, "above", ""},
			bound{protocol.SystolicLeast, below, protocol.Ask, "below", ""})
		s.against("diastolic pressure", t.Rest.Diastolic, "mm[Hg]",
			bound{protocol.DiastolicMost, above, protocol.NotToday, "above", ""},
			bound{protocol.DiastolicAsk, above, protocol.Ask, "above", ""})
	}
	if t.HeartRate == nil {
		s.missing(protocol.HeartRateMost, "heart rate at rest: not measured")
	} else {
		s.against("heart rate", *t.HeartRate, "/min",
			bound{protocol.HeartRateMost, above, protocol.NotToday, "above", ""},
			bound{protocol.HeartRateAsk, above, protocol.Ask, "above", ""},
			bound{protocol.HeartRateLeast, below, protocol.Ask, "below", ""})
	}
	s.sugar(who, t.Glucose)
	switch {
	case t.WeightGain != nil:
		s.against("weight gain over three days", *t.WeightGain, "kg", bound{protocol.WeightGainThreeDays, noLessThan, protocol.Ask, "from", ""})
	case who.HeartFailure:
		s.missing(protocol.WeightGainThreeDays, "weight gain over three days: not known")
	}
	if who.METs == nil {
		s.missing(protocol.MetsLeast, "exercise capacity: not tested")
	} else {
		s.against("exercise capacity", *who.METs, "METs", bound{protocol.MetsLeast, below, protocol.Ask, "below", ""})
	}
}

func (s *screen) sugar(who Patient, glucose *float64) {
	switch {
	case glucose != nil:
		s.against("glucose", *glucose, "mmol/L",
			bound{protocol.GlucoseHigh, noLessThan, protocol.Ask, "from", "no intense work; test ketones"},
			bound{protocol.GlucoseKetones, noLessThan, protocol.Ask, "from", "test ketones"},
			bound{protocol.GlucoseLow, below, protocol.Ask, "below", "carbohydrate first"})
	case contains(who.Conditions, protocol.Diabetes):
		s.missing(protocol.GlucoseLow, "glucose: not measured")
	}
}

// falls adds the fall of pressure on standing up, where both were measured.
func (s *screen) falls(t Today) {
	for _, f := range []struct {
		from                string
		before              *Pressure
		systolic, diastolic protocol.Key
	}{
		{"lying", t.Lying, protocol.LyingFallSystolic, protocol.LyingFallDiastolic},
		{"sitting", t.Sitting, protocol.SittingFallSystolic, protocol.SittingFallDiastolic},
	} {
		if f.before == nil {
			continue
		}
		if t.Upright == nil {
			s.missing(f.systolic, "blood pressure standing: not measured")
			continue
		}
		what := fmt.Sprintf("from %s to standing, systolic fall", f.from)
		s.against(what, f.before.Systolic-t.Upright.Systolic, "mm[Hg]", bound{f.systolic, noLessThan, protocol.Ask, "from", ""})
		what = fmt.Sprintf("from %s to standing, diastolic fall", f.from)
		s.against(what, f.before.Diastolic-t.Upright.Diastolic, "mm[Hg]", bound{f.diastolic, noLessThan, protocol.Ask, "from", ""})
	}
}

// plausible refuses a measurement that no living person has: a slip of the pen
// or the wrong unit.
func (t Today) plausible() error {
	for _, m := range []struct {
		what string
		p    *Pressure
	}{{"at rest", t.Rest}, {"lying", t.Lying}, {"sitting", t.Sitting}, {"standing", t.Upright}} {
		if m.p != nil && !(m.p.Diastolic >= 20 && m.p.Diastolic < m.p.Systolic && m.p.Systolic <= 300) {
			return fmt.Errorf("blood pressure %s is %g over %g; allowed: 20 to 300, the first above the second", m.what, m.p.Systolic, m.p.Diastolic)
		}
	}
	for _, m := range []struct {
		what        string
		v           *float64
		least, most float64
		unit        string
	}{
		{"heart rate", t.HeartRate, 20, 300, "a minute"},
		{"glucose", t.Glucose, 0.5, 60, "mmol/L"},
		{"weight gain", t.WeightGain, -20, 20, "kg"},
	} {
		if m.v != nil && !(*m.v >= m.least && *m.v <= m.most) {
			return fmt.Errorf("%s is %g; allowed: %g to %g %s", m.what, *m.v, m.least, m.most, m.unit)
		}
	}
	if t.Day == "" {
		return fmt.Errorf("the day is missing")
	}
	return nil
}
