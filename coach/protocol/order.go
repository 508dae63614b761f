package protocol

import (
	"fmt"
	"math"
	"slices"
)

// wholeUnits are counted, not measured.
var wholeUnits = []string{"repetitions", "sets", "exercises", "beats", "levels", "sessions", "weeks", "days", "points"}

// refuse says why a clinic may not set l to v; empty where it may.
func (l Limit) refuse(v float64) string {
	allowed := fmt.Sprintf("from %s to %s %s", number(l.Least), number(l.Most), l.Unit)
	switch {
	case slices.Contains(wholeUnits, l.Unit) && v != math.Trunc(v):
		return fmt.Sprintf("%s for %s (%s) is not a whole number; allowed: %s", number(v), l.Key, l.Title, allowed)
	case v < l.Least || v > l.Most:
		return fmt.Sprintf("%s is out of bounds for %s (%s); allowed: %s", number(v), l.Key, l.Title, allowed)
	}
	return ""
}

// ordered are values that contradict each other when the first is greater
// than the second, or as great where they must differ.
var ordered = []struct {
	low, high Key
	apart     bool
}{
	{RestFloor, RestMost, false},
	{WarmUpLeast, WarmUpMost, false},
	{CoolDownLeast, CoolDownMost, false},
	{RepsLeast, RepsFloor, false},
	{RepsFloor, RangeBottom, false},
	{BigStepLeast, RangeBottom, false},
	{RangeBottom, RangeTop, false},
	{RangeTop, RepsMost, false},
	{SetsWanted, SetsMost, false},
	{ItemsUsual, ItemsMost, false},
	{PhaseLeast, PhaseMost, false},
	{SettleLeast, SettleMost, false},
	{AnswerRepeat, AnswerLook, true},
	{DaysBetweenLeast, DaysBetweenMost, false},
	{StepLeast, StepMost, true},
	{StartUpperLeast, StartUpperMost, false},
	{StartLowerLeast, StartLowerMost, false},
	{ReserveErrorNear, ReserveErrorFar, false},
	{GapDays, LongGapDays, true},
	{EffortLeast, EffortMost, false},
	{SessionsWeekLeast, SessionsWeekMost, false},
	{SessionsAlike, UnchangedSessions, true},
	{SystolicLeast, SystolicAsk, true},
	{SystolicAsk, SystolicMost, false},
	{SystolicMost, StopSystolic, true},
	{DiastolicAsk, DiastolicMost, false},
	{DiastolicMost, StopDiastolic, true},
	{DiastolicMost, SystolicMost, true},
	{DiastolicAsk, SystolicAsk, true},
	{StopDiastolic, StopSystolic, true},
	{HeartRateLeast, HeartRateAsk, true},
	{HeartRateAsk, HeartRateMost, false},
	{GlucoseLow, GlucoseKetones, true},
	{GlucoseKetones, GlucoseHigh, false},
	{InfarctionEnduranceWeeks, InfarctionWeeks, false},
	{StentEnduranceWeeks, StentWeeks, false},
}

// checkOrder reports contradictions, at the value the file gives.
func (r *reader) checkOrder() {
	if len(r.p.limits) == 0 {
		return
	}
	for _, o := range ordered {
		low, high := r.p.Limit(o.low), r.p.Limit(o.high)
		if low.Value < high.Value || low.Value == high.Value && !o.apart {
			continue
		}
		at, words := o.low, "more than"
		if r.given[at] == nil {
			at = o.high
		}
		if low.Value == high.Value {
			words = "no less than"
		}
		r.given[at].Fault("value", "contradicts another value: %s (%s) is %s %s (%s)",
			o.low, low.Amount(), words, o.high, high.Amount())
	}
}
