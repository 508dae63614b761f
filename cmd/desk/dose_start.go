package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/dose"
)

// start is what desk dose start prints; masses in kg.
type start struct {
	Load    coach.Load `json:"load"`
	Max     [2]float64 `json:"max"`     // what can be lifted once
	Percent [2]float64 `json:"percent"` // the published band
	Band    [2]float64 `json:"band"`    // that band of the lower max
	Below   bool       `json:"below"`   // nothing owned lies in the band
	Reasons []string   `json:"reasons"`
}

func (p *program) doseStart() *cobra.Command {
	var trial, body, exercise, increments, file string
	var reps, reserve int
	var asJSON bool
	c := &cobra.Command{
		Use:   `start --trial "3 kg" --increments "1, 2, 3 kg" --body upper|lower|trunk`,
		Short: "What load to begin with, from a trial set",
		Long: `Start takes a trial set, by default ten repetitions with two left, works out the
least the person is likely to lift once, and chooses the heaviest owned load within
the published starting band. The trunk takes the upper body's band.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			region, err := regionOf(body, exercise)
			if err != nil {
				return err
			}
			limits, err := p.readProtocol(file)
			if err != nil {
				return err
			}
			load, err := mass("--trial", trial)
			if err != nil {
				return err
			}
			o, err := dose.ParseOwned(increments)
			if err != nil {
				return fmt.Errorf("--increments: %w", err)
			}
			most, err := dose.Capacity(limits, load.Grams()/1000, reps, reserve)
			if err != nil {
				return fmt.Errorf("--reps and --reserve: %w", err)
			}
			s, err := dose.StartFromTrial(limits, o, region, load, reps, reserve)
			if err != nil {
				return failed{err}
			}
			out := start{Load: s.Load, Max: [2]float64{most.Low, most.High}, Percent: [2]float64{s.Percent.Low, s.Percent.High},
				Band: [2]float64{s.Grams.Low / 1000, s.Grams.High / 1000}, Below: s.Below, Reasons: s.Reasons}
			if asJSON {
				return p.json(out)
			}
			fmt.Fprintf(p.stdout, "begin with %s\n", out.Load)
			p.reasons(out.Reasons)
			return nil
		},
	}
	c.Flags().StringVar(&trial, "trial", "", `the load of the trial set, such as "3 kg"`)
	c.Flags().IntVar(&reps, "reps", 10, "repetitions done in the trial set")
	c.Flags().IntVar(&reserve, "reserve", 2, "repetitions that were left")
	c.Flags().StringVar(&body, "body", "", "what it works: upper, lower or trunk")
	c.Flags().StringVar(&exercise, "exercise", "", "an exercise's `ID`, instead of --body")
	c.Flags().StringVar(&increments, "increments", "", `what the clinic owns, such as "1, 1.5, 2 kg"`)
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON, unrounded")
	protocolFlag(c, &file)
	_ = c.MarkFlagRequired("trial")
	_ = c.MarkFlagRequired("increments")
	c.MarkFlagsOneRequired("body", "exercise")
	c.MarkFlagsMutuallyExclusive("body", "exercise")
	return c
}

func regionOf(body, exercise string) (coach.Region, error) {
	if exercise != "" {
		e, err := findExercise(exercise)
		return e.Region, err
	}
	switch r := coach.Region(body); r {
	case coach.UpperBody, coach.LowerBody, coach.Trunk:
		return r, nil
	}
	return "", fmt.Errorf("--body is %q; allowed: upper, lower, trunk", body)
}

// findExercise finds an exercise of the catalogue, or names the nearest.
func findExercise(id string) (coach.Exercise, error) {
	e, ok := catalogue.Find(id)
	if !ok {
		return e, fmt.Errorf("--exercise: %q is not in the catalogue; did you mean %s?", id, catalogue.Nearest(id))
	}
	return e, nil
}

func (p *program) reasons(all []string) {
	for _, r := range all {
		fmt.Fprintf(p.stdout, "  %s\n", r)
	}
}
