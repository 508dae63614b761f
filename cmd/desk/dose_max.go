package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"evenbell/coach"
	"evenbell/coach/dose"
)

func (p *program) dose() *cobra.Command {
	return group("dose", "What load, and what next",
		`Load arithmetic from published equations, with ranges, and proposals from what was
done. A proposal does nothing until a supervisor approves it.`,
		p.doseMax(), p.doseStart(), p.doseNext())
}

// maxima has the seven equations in their published order.
type maxima struct {
	Epley    float64 `json:"epley"`
	Brzycki  float64 `json:"brzycki"`
	Lander   float64 `json:"lander"`
	Lombardi float64 `json:"lombardi"`
	Mayhew   float64 `json:"mayhew"`
	OConner  float64 `json:"oconner"`
	Wathan   float64 `json:"wathan"`
}

func (m *maxima) at(id string) *float64 {
	return map[string]*float64{"epley": &m.Epley, "brzycki": &m.Brzycki, "lander": &m.Lander, "lombardi": &m.Lombardi,
		"mayhew": &m.Mayhew, "oconner": &m.OConner, "wathan": &m.Wathan}[id]
}

// maximum is what desk dose max prints.
type maximum struct {
	Unit         coach.Unit `json:"unit"`
	Max          maxima     `json:"max"`
	Range        [2]float64 `json:"range"`
	Chart        *float64   `json:"chart"`        // by the percent chart; null where it has no column
	Reps         int        `json:"repetitions"`  // done and left together
	Extrapolated bool       `json:"extrapolated"` // beyond what the equations were fitted to
}

func (p *program) doseMax() *cobra.Command {
	var load, file string
	var reps, reserve int
	var asJSON bool
	c := &cobra.Command{
		Use:   `max --load "20 kg" --reps N --reserve N`,
		Short: "The most that can be lifted once, from a set and what was left",
		Long: `Max gives the most that can be lifted once by seven published equations, and the
range over all of them and over how far people misjudge what they have left. At one
repetition it is the load itself.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			out, err := p.maximum(load, file, reps, reserve)
			if err != nil {
				return err
			}
			if asJSON {
				return p.json(out)
			}
			p.showMaximum(load, out)
			return nil
		},
	}
	c.Flags().StringVar(&load, "load", "", `what was lifted, such as "20 kg" or "45 lb"`)
	c.Flags().IntVar(&reps, "reps", 0, "repetitions done")
	c.Flags().IntVar(&reserve, "reserve", 0, "repetitions that were left")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON, unrounded")
	protocolFlag(c, &file)
	_ = c.MarkFlagRequired("load")
	_ = c.MarkFlagRequired("reps")
	return c
}

func (p *program) maximum(text, file string, reps, reserve int) (maximum, error) {
	limits, err := p.readProtocol(file)
	if err != nil {
		return maximum{}, err
	}
	load, err := mass("--load", text)
	if err != nil {
		return maximum{}, err
	}
	weight := float64(load.Milli()) / 1000
	r, err := dose.Capacity(limits, weight, reps, reserve)
	if err != nil {
		return maximum{}, fmt.Errorf("--reps and --reserve: %w", err)
	}
	out := maximum{Unit: load.Unit(), Range: [2]float64{r.Low, r.High}, Reps: reps + reserve, Extrapolated: reps+reserve > dose.StudiedReps}
	for _, e := range dose.Equations {
		if *out.Max.at(e.ID), err = e.Max(weight, reps+reserve); err != nil {
			return maximum{}, err
		}
	}
	if m, ok := dose.ChartMax(weight, reps+reserve); ok {
		out.Chart = &m
	}
	return out, nil
}

// mass reads a load that must be a dumbbell's.
func mass(flag, text string) (coach.Load, error) {
	l, err := coach.ParseLoad(text)
	if err == nil && l.Kind() != coach.DumbbellLoad {
		err = fmt.Errorf("%q tells no mass", text)
	}
	if err != nil {
		return l, fmt.Errorf(`%s: %w; write a mass such as "20 kg" or "45 lb"`, flag, err)
	}
	return l, nil
}

func (p *program) showMaximum(load string, m maximum) {
	fmt.Fprintf(p.stdout, "%s, %d repetitions done and left together: once about %.1f to %.1f %s\n", load, m.Reps, m.Range[0], m.Range[1], m.Unit)
	for _, e := range dose.Equations {
		fmt.Fprintf(p.stdout, "  %-14s %.1f %s\n", e.Name, *m.Max.at(e.ID), m.Unit)
	}
	if m.Chart != nil {
		fmt.Fprintf(p.stdout, "  %-14s %.1f %s\n", "percent chart", *m.Chart, m.Unit)
	}
	if m.Extrapolated {
		fmt.Fprintf(p.stdout, "The equations were fitted to %d repetitions or fewer; beyond that take the range, not a figure.\n", dose.StudiedReps)
	}
}
