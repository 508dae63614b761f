package protocol

import "evenbell/coach"

// Healing is the key of how many weeks a kind of precaution lasts from its
// event; empty where it stays until somebody ends it.
func Healing(kind coach.PrecautionKind) Key {
	switch kind {
	case coach.Sternum:
		return SternumWeeks
	case coach.DeviceArm:
		return DeviceArmWeeks
	}
	return ""
}

// LastDay is the last day a precaution is in force, that day included: the one
// given, else the protocol's weeks after the event; empty while it stays open.
// Twelve weeks from Monday, 2 March last to Monday, 25 May.
func (p *Protocol) LastDay(pre coach.Precaution) coach.Day {
	if weeks := Healing(pre.Kind); pre.Until == "" && pre.Since != "" && weeks != "" {
		return pre.Since.AddDays(7 * p.Int(weeks))
	}
	return pre.Until
}
