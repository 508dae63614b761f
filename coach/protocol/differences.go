package protocol

// Difference is one value that is not the default's.
type Difference struct {
	Key          Key
	Title        string
	Default, Now string // with the unit
	Source       Source // of the value now in force
	SignOff      SignOff
}

// Differences lists what differs from the defaults, in their order. A value a
// clinic confirmed without changing it is no difference.
func (p *Protocol) Differences() []Difference {
	var out []Difference
	d := Default()
	for i, l := range p.limits {
		if was := d.limits[i]; l.Value != was.Value {
			out = append(out, Difference{l.Key, l.Title, was.Amount(), l.Amount(), l.Sources[0], l.SignOff})
		}
	}
	for i, c := range p.conditions {
		if was := d.conditions[i]; c.Verdict != was.Verdict {
			out = append(out, Difference{c.Key, c.Title, string(was.Verdict), string(c.Verdict), c.Sources[0], c.SignOff})
		}
	}
	return out
}
