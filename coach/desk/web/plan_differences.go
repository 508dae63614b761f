package web

import (
	"fmt"
	"time"

	"evenbell/coach"
	"evenbell/coach/plan"
)

// differences says in plain words what a patient does differently by the plan
// now than by the one before.
func (n names) differences(before, now *plan.Plan) []string {
	was, is := before.Patients[0], now.Patients[0]
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	if before.Day != now.Day || before.LastDay() != now.LastDay() {
		say("For %s, before for %s.", daysWords(now), daysWords(before))
	}
	out = append(out, n.items(was.Items, is.Items)...)
	for _, t := range []struct {
		what    string
		was, is time.Duration
	}{{"Warm-up", was.WarmUp, is.WarmUp}, {"Cool-down", was.CoolDown, is.CoolDown}} {
		if t.was != t.is {
			say("%s %s, before %s.", t.what, secondWords(t.is), secondWords(t.was))
		}
	}
	if was, is := restWords(was.Home), restWords(is.Home); was != is {
		say("%s, before %s.", capital(is), was)
	}
	added, gone := unlike(is.Precautions, was.Precautions), unlike(was.Precautions, is.Precautions)
	for _, p := range added {
		say("New precaution: %s.", precautionWords(p))
	}
	for _, p := range gone {
		say("No longer a precaution: %s.", precautionWords(p))
	}
	return out
}

// restWords is how many days of rest lie between sessions at home.
func restWords(h *coach.Home) string {
	if h == nil {
		return "no days of rest kept by the station"
	}
	return plural(h.DaysBetween, "day of rest", "days of rest") + " between sessions"
}

func daysWords(p *plan.Plan) string {
	if p.LastDay() == p.Day {
		return dayWords(p.Day)
	}
	return dayWords(p.Day) + " to " + dayWords(p.LastDay())
}

func unlike(a, b []coach.Precaution) (out []coach.Precaution) {
	seen := map[coach.Precaution]bool{}
	for _, p := range b {
		seen[p] = true
	}
	for _, p := range a {
		if !seen[p] {
			out = append(out, p)
		}
	}
	return out
}

// items says what became of each exercise. An exercise that stands in a plan
// twice is told apart by its place.
func (n names) items(was, is []plan.Item) (out []string) {
	type key struct {
		exercise string
		nth      int
	}
	index := func(list []plan.Item) (map[key]plan.Item, []key) {
		byKey, order, count := map[key]plan.Item{}, []key{}, map[string]int{}
		for _, it := range list {
			k := key{it.Exercise, count[it.Exercise]}
			count[it.Exercise]++
			byKey[k] = it
			order = append(order, k)
		}
		return byKey, order
	}
	old, oldOrder := index(was)
	now, order := index(is)
	for _, k := range order {
		it := now[k]
		before, there := old[k]
		switch {
		case !there:
			out = append(out, fmt.Sprintf("New: %s, %s.", n.Full(it.Exercise, it.Dose.Stage), doseWords(it.Dose)))
		case before.Dose != it.Dose || before.Sides != it.Sides:
			out = append(out, fmt.Sprintf("%s: %s, %s; before %s, %s.", n.Exercise(it.Exercise),
				n.Dose(it.Exercise, it.Dose), sidesWords(it.Sides), n.Dose(it.Exercise, before.Dose), sidesWords(before.Sides)))
		case before.Pace != it.Pace:
			out = append(out, fmt.Sprintf("%s: %s; before %s.", n.Exercise(it.Exercise), paceWords(it.Pace), paceWords(before.Pace)))
		}
	}
	for _, k := range oldOrder {
		if _, there := now[k]; !there {
			out = append(out, fmt.Sprintf("No longer: %s.", n.Exercise(k.exercise)))
		}
	}
	return out
}

// paceWords is a pace in one line.
func paceWords(p coach.Pace) string {
	s := "up in " + secondWords(p.Lift)
	if p.Top > 0 {
		s += ", still for " + secondWords(p.Top)
	}
	s += ", down in " + secondWords(p.Lower)
	if p.Bottom > 0 {
		s += ", still for " + secondWords(p.Bottom)
	}
	return s + ", rest " + secondWords(p.Rest)
}
