package protocol

import (
	"fmt"
	"strconv"
	"strings"
)

// TOML writes all values as a file for a clinic to go over: each with what it
// is, what may be set and what its sources say. Read gives the same protocol
// back, under the name and edition written here.
func (p *Protocol) TOML() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "format  = \"protocol/1\"\nname    = %s\nedition = %s\n", text(p.name), text(p.edition))
	b.WriteString("\n# [sign_off]\n# by = \"\"\n# on = 2026-01-31\n")
	for _, l := range p.limits {
		fmt.Fprintf(&b, "\n# %s, in %s; from %s to %s\n", l.Title, l.Unit, number(l.Least), number(l.Most))
		writeSources(&b, l.Sources)
		fmt.Fprintf(&b, "[[limit]]\nkey   = %s\nvalue = %s\n", text(string(l.Key)), number(l.Value))
		writeSignOff(&b, l.SignOff)
	}
	for _, c := range p.conditions {
		fmt.Fprintf(&b, "\n# %s\n", c.Title)
		writeSources(&b, c.Sources)
		fmt.Fprintf(&b, "[[condition]]\nkey     = %s\nverdict = %s\n", text(string(c.Key)), text(string(c.Verdict)))
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
		fmt.Fprintf(b, "sign_off = { by = %s, on = %s }\n", text(s.By), s.On)
	}
}

// text writes a TOML basic string; what does not print is written by its number.
func text(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case strconv.IsPrint(r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, "\\U%08X", r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
