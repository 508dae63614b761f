package desk

import (
	"slices"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/screening"
)

// precautions are everything in force for a patient on a day: what staff
// entered and what follows from what was done to them.
func precautions(p *protocol.Protocol, r store.Record, day coach.Day) []coach.Precaution {
	return plan.InForce(p, union(r.Precautions, screening.Precautions(p, r.Screening)), day)
}

// union is a with what of b says something that a does not.
func union(a, b []coach.Precaution) []coach.Precaution {
	out := slices.Clone(a)
	for _, p := range b {
		if !slices.ContainsFunc(out, func(q coach.Precaution) bool { return covers(q, p) }) {
			out = append(out, p)
		}
	}
	return out
}

// covers reports whether p needs no saying where q is said: the same kind, at
// least the same side and as long.
func covers(q, p coach.Precaution) bool {
	wide := q.Side == coach.Both || q.Side == coach.NoSide
	return q.Kind == p.Kind && (wide || q.Side == p.Side) && q.Since == p.Since && (q.Until == "" || p.Until != "" && q.Until >= p.Until)
}
