package protocol

import (
	"fmt"
	"strings"

	"evenbell/coach/strict"
)

// TOML writes all values as a file for a clinic to go over: each with what it
// is, what may be set and what its sources say. Read gives the same protocol
// back, under the name and edition written here.
func (p *Protocol) TOML() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "format  = \"protocol/1\"\nname    = %s\nedition = %s\n", strict.Quote(p.name), strict.Quote(p.edition))
	b.WriteString("\n# [sign_off]\n# by = \"\"\n# on = 2026-01-31\n")
	for _, l := range p.limits {
		fmt.Fprintf(&b, "\n# %s, in %s; from %s to %s\n", l.Title, l.Unit, number(l.Least), number(l.Most))
		writeSources(&b, l.Sources)
		fmt.Fprintf(&b, "[[limit]]\nkey   = %s\nvalue = %s\n", strict.Quote(string(l.Key)), number(l.Value))
		writeSignOff(&b, l.SignOff)
	}
	for _, c := range p.conditions {
		fmt.Fprintf(&b, "\n# %s\n", c.Title)
		writeSources(&b, c.Sources)
		fmt.Fprintf(&b, "[[condition]]\nkey     = %s\nverdict = %s\n", strict.Quote(string(c.Key)), strict.Quote(string(c.Verdict)))
		writeSignOff(&b, c.SignOff)
	}
	return []byte(b.String())
}

func writeSources(b *strings.Builder, sources []Source) {
	for _, s := range sources {
		says := s.Says
		if says != "" {
			says = ": " + says
		}
		fmt.Fprintf(b, "# %s%s\n", strings.ReplaceAll(s.String(), "\n", " "), strings.ReplaceAll(says, "\n", " "))
	}
}

func writeSignOff(b *strings.Builder, s SignOff) {
	if s.By != "" {
		fmt.Fprintf(b, "sign_off = { by = %s, on = %s }\n", strict.Quote(s.By), s.On)
	}
}
