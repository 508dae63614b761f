package main

import (
	"encoding/json"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"evenbell/coach"
	"evenbell/coach/protocol"
)

func (p *program) protocol() *cobra.Command {
	return group("protocol", "The clinic's limits and where they come from",
		`Every limit has a default with its source. A clinic's own file overrides any.`,
		p.protocolShow(), p.protocolCheck())
}

// readProtocol reads a clinic's own file, or gives the defaults where none is
// named. Warnings are printed.
func (p *program) readProtocol(file string) (*protocol.Protocol, error) {
	if file == "" {
		return protocol.Default(), nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, failed(fmt.Errorf("reading the protocol: %w", err))
	}
	limits, faults := protocol.Read(file, text)
	if limits == nil {
		return nil, invalid(faults)
	}
	for _, f := range faults {
		fmt.Fprintln(p.stderr, f)
	}
	return limits, nil
}

func protocolFlag(c *cobra.Command, to *string) {
	c.Flags().StringVar(to, "protocol", "", "the clinic's own protocol `FILE`; without it the built-in defaults hold")
}

func (p *program) protocolShow() *cobra.Command {
	var file string
	var asJSON, asTOML bool
	c := &cobra.Command{
		Use:   "show [KEY ...]",
		Short: "Print limits with unit, bounds, sources and sign-off",
		Long: `Show prints every limit and condition, or those named: its value, what a clinic
may set, each source with how sure we are of it, and who signed it. Where sources
disagree they stand one below the other, the one followed first.

With --toml it prints a file for the clinic to go over and sign.`,
		RunE: func(_ *cobra.Command, keys []string) error {
			limits, err := p.readProtocol(file)
			if err != nil {
				return err
			}
			if asTOML {
				_, err := p.stdout.Write(limits.TOML())
				return err
			}
			return p.showLimits(limits, keys, asJSON)
		},
	}
	protocolFlag(c, &file)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	c.Flags().BoolVar(&asTOML, "toml", false, "print a protocol file with all values")
	c.MarkFlagsMutuallyExclusive("json", "toml")
	return c
}

// showLimits prints the values named, or all of them.
func (p *program) showLimits(limits *protocol.Protocol, keys []string, asJSON bool) error {
	values, err := chosen(limits, keys)
	if err != nil {
		return err
	}
	if asJSON {
		return p.json(struct {
			Name        string  `json:"name"`
			Fingerprint string  `json:"fingerprint"`
			Values      []value `json:"values"`
		}{limits.Name(), limits.Fingerprint(), values})
	}
	fmt.Fprintf(p.stdout, "%s\nfingerprint %s\n", limits.Name(), limits.Fingerprint())
	for _, v := range values {
		p.showValue(v)
	}
	return nil
}

// value is one limit or condition as it is shown.
type value struct {
	Key     protocol.Key `json:"key"`
	Title   string       `json:"title"`
	Value   *float64     `json:"value,omitempty"`
	Verdict string       `json:"verdict,omitempty"`
	Unit    string       `json:"unit,omitempty"`
	Least   *float64     `json:"least,omitempty"`
	Most    *float64     `json:"most,omitempty"`
	Sources []source     `json:"sources"`
	SignOff *signOff     `json:"sign_off"` // null: nobody
	amount  string
}

type source struct {
	Name       string `json:"name"`
	Edition    string `json:"edition"`
	Says       string `json:"says"`
	Confidence string `json:"confidence"`
	text       string
}

type signOff struct {
	By string    `json:"by"`
	On coach.Day `json:"on"`
}

// chosen are the named values, or all, in their order.
func chosen(limits *protocol.Protocol, keys []string) ([]value, error) {
	wanted := map[string]bool{}
	for _, k := range keys {
		wanted[k] = true
	}
	var out []value
	for _, l := range limits.Limits() {
		if len(keys) == 0 || wanted[string(l.Key)] {
			out = append(out, value{Key: l.Key, Title: l.Title, Value: &l.Value, Unit: l.Unit, Least: &l.Least, Most: &l.Most,
				Sources: sources(l.Sources), SignOff: signed(l.SignOff), amount: l.Amount()})
		}
		delete(wanted, string(l.Key))
	}
	for _, c := range limits.Conditions() {
		if len(keys) == 0 || wanted[string(c.Key)] {
			out = append(out, value{Key: c.Key, Title: c.Title, Verdict: string(c.Verdict),
				Sources: sources(c.Sources), SignOff: signed(c.SignOff), amount: string(c.Verdict)})
		}
		delete(wanted, string(c.Key))
	}
	for _, k := range keys {
		if wanted[k] {
			return nil, fmt.Errorf("%q is no value of the protocol; desk protocol show lists them all", k)
		}
	}
	return out, nil
}

func sources(in []protocol.Source) []source {
	out := []source{}
	for _, s := range in {
		out = append(out, source{s.Name, s.Edition, s.Says, string(s.Confidence), s.String()})
	}
	return out
}

func signed(s protocol.SignOff) *signOff {
	if s.By == "" {
		return nil
	}
	return &signOff{s.By, s.On}
}

func (p *program) showValue(v value) {
	fmt.Fprintf(p.stdout, "\n%s: %s\n  %s\n", v.Key, v.amount, v.Title)
	if v.Least != nil {
		fmt.Fprintf(p.stdout, "  a clinic may set %g to %g\n", *v.Least, *v.Most)
	}
	for _, s := range v.Sources {
		says := ""
		if s.Says != "" {
			says = ": " + s.Says
		}
		fmt.Fprintf(p.stdout, "  %s%s\n", s.text, says)
	}
	if v.SignOff != nil {
		fmt.Fprintf(p.stdout, "  signed by %s on %s\n", v.SignOff.By, v.SignOff.On)
	} else {
		fmt.Fprintln(p.stdout, "  signed by nobody yet")
	}
}

func (p *program) protocolCheck() *cobra.Command {
	return &cobra.Command{
		Use:   "check FILE",
		Short: "Check a clinic's protocol file and say what differs from the defaults",
		Long: `Check reads a protocol file strictly and prints every fault at once, with file,
line, key and what is allowed (exit 3); or, where it stands, what differs from the
built-in defaults and who signed for it.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			limits, err := p.readProtocol(args[0])
			if err != nil {
				return err
			}
			differ := limits.Differences()
			fmt.Fprintf(p.stdout, "%s: %d of %d values differ from the defaults\n", limits.Name(), len(differ), len(limits.Limits())+len(limits.Conditions()))
			for _, d := range differ {
				who := "signed by nobody yet"
				if d.SignOff.By != "" {
					who = fmt.Sprintf("signed by %s on %s", d.SignOff.By, d.SignOff.On)
				}
				fmt.Fprintf(p.stdout, "%s: %s instead of %s\n  %s\n  %s; %s\n", d.Key, d.Now, d.Default, d.Title, d.Source, who)
			}
			return nil
		},
	}
}

// json prints v indented, with plain characters left as they are.
func (p *program) json(v any) error {
	enc := json.NewEncoder(p.stdout)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(v); err != nil {
		return failed(fmt.Errorf("printing the result: %w", err))
	}
	return nil
}
