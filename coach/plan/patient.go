package plan

import (
	"regexp"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/protocol"
	"evenbell/coach/strict"
)

func (r *reader) patient(t *strict.Table) Patient {
	p := Patient{Guide: coach.GuideBoth, Part: coach.Whole}
	p.Tag, p.Call = r.tag(t), r.call(t)
	p.Intro, _ = t.Bool("intro", strict.Optional)
	p.Note = line(t, "note", strict.Optional, LongestNote)
	if g, ok := strict.Choice(t, "guide", strict.Optional, coach.GuideTones, coach.GuideVoice, coach.GuideBoth); ok {
		p.Guide = g
	}
	if v, ok := strict.Choice(t, "part", strict.Optional, coach.Whole, coach.First, coach.Middle, coach.Last); ok {
		p.Part = v
	}
	r.timers(t, &p)
	next(t, &p)
	p.Home = r.home(t, p.Part)
	precautions, _ := t.Tables("precaution", strict.Optional)
	for _, sub := range precautions {
		p.Precautions = append(p.Precautions, r.precaution(sub))
	}
	inForce := r.inForce(p.Precautions)
	items, ok := t.Tables("item", strict.Optional)
	if !t.Has("item") || ok && len(items) == 0 {
		t.Fault("item", "missing; at least one [[patient.item]]")
	}
	for _, sub := range items {
		p.Items = append(p.Items, r.item(sub, inForce))
	}
	r.howMany(t, items, p.Part)
	r.plan.warnOfOrder(items, p.Items)
	return p
}

// LongestNote is the most letters of what is typed to be spoken as a note: some
// fifteen seconds of speech.
const LongestNote = 200

var tagForm = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9-]{0,7}$`)

func (r *reader) tag(t *strict.Table) string {
	tag, ok := t.Text("tag", strict.Required)
	if !ok {
		return ""
	}
	if !tagForm.MatchString(tag) {
		t.Fault("tag", "%q is no tag; one to eight letters, digits or hyphens, such as \"K4\"; never a name", tag)
		return tag
	}
	r.take(t, "tag", tag)
	return tag
}

func (r *reader) call(t *strict.Table) string {
	call, ok := strict.Choice(t, "call", strict.Optional, CallWords...)
	if ok {
		r.take(t, "call", call)
	}
	return call
}

// take holds a tag or call word for one patient. Case does not matter, since
// nobody hears it.
func (r *reader) take(t *strict.Table, key, name string) {
	heard := strings.ToLower(name)
	if before, ok := r.names[heard]; ok {
		t.Fault(key, "%q is the %s of another patient already, on line %d; each patient has their own", name, before.what, before.line)
		return
	}
	r.names[heard] = taken{key, t.LineOf(key)}
}

// timers reads warm-up and cool-down, which the part of the session decides.
func (r *reader) timers(t *strict.Table, p *Patient) {
	p.WarmUpElsewhere, _ = t.Bool("warm_up_elsewhere", strict.Optional)
	p.WarmUp, _ = seconds(t, "warm_up", strict.Optional, r.limit(protocol.WarmUpLeast), r.limit(protocol.WarmUpMost))
	switch given := t.Has("warm_up"); {
	case p.WarmUpElsewhere && !p.Part.HasWarmUp():
		t.Fault("warm_up_elsewhere", "the %s part of a session has no warm-up to be done elsewhere; only in whole and first", p.Part)
	case given && p.WarmUpElsewhere:
		t.Fault("warm_up", "is given although warm_up_elsewhere = true; one of the two")
	case given && !p.Part.HasWarmUp():
		t.Fault("warm_up", "is given, but the %s part of a session has none; only in whole and first", p.Part)
	case !given && p.Part.HasWarmUp() && !p.WarmUpElsewhere:
		t.Fault("warm_up", "missing; seconds, at least %s, or warm_up_elsewhere = true", r.protocol.Allowed(protocol.WarmUpLeast))
	}
	r.coolDown(t, p)
}

func (r *reader) coolDown(t *strict.Table, p *Patient) {
	p.CoolDownElsewhere, _ = t.Bool("cool_down_elsewhere", strict.Optional)
	p.CoolDown, _ = seconds(t, "cool_down", strict.Optional, r.limit(protocol.CoolDownLeast), r.limit(protocol.CoolDownMost))
	switch given := t.Has("cool_down"); {
	case p.CoolDownElsewhere && !p.Part.HasCoolDown():
		t.Fault("cool_down_elsewhere", "the %s part of a session has no cool-down to be done elsewhere; only in whole and last", p.Part)
	case given && p.CoolDownElsewhere:
		t.Fault("cool_down", "is given although cool_down_elsewhere = true; one of the two")
	case given && !p.Part.HasCoolDown():
		t.Fault("cool_down", "is given, but the %s part of a session has none; only in whole and last", p.Part)
	case !given && p.Part.HasCoolDown() && !p.CoolDownElsewhere:
		t.Fault("cool_down", "missing; seconds, at least %s, or cool_down_elsewhere = true", r.protocol.Allowed(protocol.CoolDownLeast))
	}
}

// next reads where the patient goes on to.
func next(t *strict.Table, p *Patient) {
	p.NextPlace = line(t, "next_place", strict.Optional, longestLine)
	if s, ok := t.Text("next_at", strict.Optional); ok {
		at, err := coach.ParseTimeOfDay(s)
		if err != nil {
			t.Fault("next_at", "%v", err)
		}
		p.NextAt = at
	}
	switch {
	case t.Has("next_place") && p.Part.HasCoolDown() && !p.CoolDownElsewhere:
		t.Fault("next_place", "is given, but the %s part of a session ends here; only in first and middle, or with cool_down_elsewhere = true", p.Part)
	case t.Has("next_at") && !t.Has("next_place"):
		t.Fault("next_at", "is given without next_place; name the place, or neither")
	}
}

// howMany holds how many items there are to the protocol.
func (r *reader) howMany(t *strict.Table, items []*strict.Table, part coach.Part) {
	most, usual := r.protocol.Int(protocol.ItemsMost), r.protocol.Int(protocol.ItemsUsual)
	switch {
	case len(items) > most:
		items[most].Fault("", "is number %d of one patient's; at most %s", most+1, r.protocol.Allowed(protocol.ItemsMost))
	case len(items) > 0 && len(items) < usual && part == coach.Whole:
		t.Warn("item", "only %d; a whole session usually has at least %s", len(items), r.protocol.Allowed(protocol.ItemsUsual))
	}
}

func (r *reader) precaution(t *strict.Table) coach.Precaution {
	p := coach.Precaution{Side: coach.Both}
	p.Kind, _ = strict.Choice(t, "kind", strict.Required, coach.PrecautionKinds...)
	if s, ok := strict.Choice(t, "side", strict.Optional, coach.Left, coach.Right, coach.Both); ok {
		p.Side = s
	}
	p.Since, _ = t.Day("since", strict.Optional)
	p.Until, _ = t.Day("until", strict.Optional)
	if p.Since > r.plan.Day && r.plan.Day != "" {
		t.Fault("since", "is %s, after the plan's day %s; the day of the event, on that day or before", p.Since, r.plan.Day)
	}
	if p.Until != "" && p.Until < p.Since {
		t.Fault("until", "is %s, before since %s; on that day or later", p.Until, p.Since)
	}
	if last := r.protocol.LastDay(coach.Precaution{Kind: p.Kind, Since: p.Since}); p.Until != "" && p.Until < last {
		t.Warn("until", "is %s, so the %s precaution ends before its %s from %s are over, which is on %s; leave the last day out, unless that is meant",
			p.Until, p.Kind, r.protocol.Allowed(protocol.Healing(p.Kind)), p.Since, last)
	}
	return p
}

// inForce are the precautions in force on any day of the plan.
func (r *reader) inForce(all []coach.Precaution) []coach.Precaution {
	return slices.DeleteFunc(slices.Clone(all), func(p coach.Precaution) bool {
		last := r.protocol.LastDay(p)
		return last != "" && last < r.plan.Day
	})
}
