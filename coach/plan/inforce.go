package plan

import (
	"evenbell/coach"
	"evenbell/coach/protocol"
)

// InForce are those of the precautions that are in force on a day, by the
// rules a plan of that day is read with.
func InForce(p *protocol.Protocol, all []coach.Precaution, day coach.Day) []coach.Precaution {
	return (&reader{plan: &Plan{Day: day}, protocol: p}).inForce(all)
}
