package plan

import (
	"time"

	"evenbell/coach"
	"evenbell/coach/protocol"
	"evenbell/coach/strict"
)

// timeKey is a key of [pace] in seconds. Without a least or a usual value
// these are 0.
type timeKey struct {
	key                string
	least, most, usual protocol.Key
	of                 func(*coach.Pace) *time.Duration
}

var timeKeys = []timeKey{
	{"lift", protocol.PhaseLeast, protocol.PhaseMost, protocol.UsualLift, func(p *coach.Pace) *time.Duration { return &p.Lift }},
	{"top", "", protocol.StillMost, "", func(p *coach.Pace) *time.Duration { return &p.Top }},
	{"lower", protocol.PhaseLeast, protocol.PhaseMost, protocol.UsualLower, func(p *coach.Pace) *time.Duration { return &p.Lower }},
	{"bottom", "", protocol.StillMost, "", func(p *coach.Pace) *time.Duration { return &p.Bottom }},
	{"rest", protocol.RestFloor, protocol.RestMost, protocol.UsualRest, func(p *coach.Pace) *time.Duration { return &p.Rest }},
	{"settle", protocol.SettleLeast, protocol.SettleMost, protocol.UsualSettle, func(p *coach.Pace) *time.Duration { return &p.Settle }},
}

// countKey is a key of [pace] that is counted.
type countKey struct {
	key         string
	least       int // by the sense of it, not a clinical limit
	most, usual protocol.Key
	of          func(*coach.Pace) *int
}

var countKeys = []countKey{
	{"count_in", 1, protocol.CountInMost, protocol.UsualCountIn, func(p *coach.Pace) *int { return &p.CountIn }},
	{"breath_every", 0, protocol.BreathEveryMost, protocol.UsualBreathEvery, func(p *coach.Pace) *int { return &p.BreathEvery }},
}

// UsualPace is the pace of a plan that says nothing, kept within the limits
// where a clinic has moved those alone.
func UsualPace(p *protocol.Protocol) coach.Pace {
	var pace coach.Pace
	for _, k := range timeKeys {
		if k.usual == "" {
			continue
		}
		*k.of(&pace) = min(max(p.Seconds(k.usual), p.Seconds(k.least)), p.Seconds(k.most))
	}
	for _, k := range countKeys {
		*k.of(&pace) = min(max(p.Int(k.usual), k.least), p.Int(k.most))
	}
	return pace
}

// pace reads the keys of [pace] in t, each replacing what base says.
func (r *reader) pace(t *strict.Table, base coach.Pace) coach.Pace {
	for _, k := range timeKeys {
		least := exactly(0)
		if k.least != "" {
			least = r.limit(k.least)
		}
		if d, ok := seconds(t, k.key, strict.Optional, least, r.limit(k.most)); ok {
			*k.of(&base) = d
		}
	}
	for _, k := range countKeys {
		if n, ok := count(t, k.key, strict.Optional, exactly(k.least), r.limit(k.most)); ok {
			*k.of(&base) = n
		}
	}
	return base
}
