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

// startFlags are the options of desk dose start.
type startFlags struct {
	trial, body, exercise, increments, protocol string
	reps, reserve                               int
	json                                        bool
}

func (p *program) doseStart() *cobra.Command {
	var f startFlags
	c := &cobra.Command{
		Use:   `start --trial "3 kg" --increments "1, 2, 3 kg" --body upper|lower|trunk`,
		Short: "What load to begin with, from a trial set",
		Long: `Start takes a trial set, by default ten repetitions with two left, works out the
least the person is likely to lift once, and chooses the heaviest owned load within
the published starting band. The trunk takes the upper body's band.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return p.start(f) },
	}
	fl := c.Flags()
	fl.StringVar(&f.trial, "trial", "", `the load of the trial set, such as "3 kg"`)
	fl.IntVar(&f.reps, "reps", 10, "repetitions done in the trial set")
	fl.IntVar(&f.reserve, "reserve", 2, "repetitions that were left")
	fl.StringVar(&f.body, "body", "", "what it works: upper, lower or trunk")
	fl.StringVar(&f.exercise, "exercise", "", "an exercise's `ID`, instead of --body")
	fl.StringVar(&f.increments, "increments", "", `what the clinic owns, such as "1, 1.5, 2 kg"`)
	fl.BoolVar(&f.json, "json", false, "print JSON, unrounded")
	protocolFlag(c, &f.protocol)
	_ = c.MarkFlagRequired("trial")
	_ = c.MarkFlagRequired("increments")
	c.MarkFlagsOneRequired("body", "exercise")
	c.MarkFlagsMutuallyExclusive("body", "exercise")
	return c
}

func (p *program) start(f startFlags) error {
	region, err := regionOf(f.body, f.exercise)
	if err != nil {
		return err
	}
	limits, err := p.readProtocol(f.protocol)
	if err != nil {
		return err
	}
	load, err := mass("--trial", f.trial)
	if err != nil {
		return err
	}
	o, err := ownedFlag(f.increments)
	if err != nil {
		return err
	}
	most, err := dose.Capacity(limits, load.Grams()/1000, f.reps, f.reserve)
	if err != nil {
		return fmt.Errorf("--reps and --reserve: %w", err)
	}
	s, err := dose.StartFromTrial(limits, o, region, load, f.reps, f.reserve)
	if err != nil {
		return failed(err)
	}
	if f.json {
		return p.json(start{Load: s.Load, Max: [2]float64{most.Low, most.High}, Percent: [2]float64{s.Percent.Low, s.Percent.High},
			Band: [2]float64{s.Grams.Low / 1000, s.Grams.High / 1000}, Below: s.Below, Reasons: s.Reasons})
	}
	fmt.Fprintf(p.stdout, "begin with %s\n", s.Load)
	p.reasons(s.Reasons)
	return nil
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
