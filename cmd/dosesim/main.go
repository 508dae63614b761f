// Command dosesim prints how the dose rules behave on simulated patients, each
// for a year, in two clinics: one with a dumbbell every half kilogram and one
// with few.
//
//	go run ./cmd/dosesim --patients 500 --seed 1
//
// It only wires coach/dose/simulated to a terminal; the model is stated there.
package main

import (
	"fmt"
	"math/rand/v2"
	"os"

	"evenbell/coach/dose"
	"evenbell/coach/dose/simulated"
	"evenbell/coach/protocol"

	"github.com/spf13/cobra"
)

var clinics = []struct{ name, owned string }{
	{"a dumbbell every half kilogram", "0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5, 6, 6.5, 7, 7.5, 8, 8.5, 9, 9.5, 10, 11, 12, 13, 14, 15, 16, 18, 20 kg"},
	{"few dumbbells", "0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15 kg"},
}

func main() {
	if err := command().Execute(); err != nil {
		fmt.Fprintln(os.Stderr, "dosesim:", err)
		os.Exit(2)
	}
}

func command() *cobra.Command {
	patients, seed := 500, uint64(1)
	c := &cobra.Command{
		Use:           "dosesim",
		Short:         "try the dose rules on simulated patients for a year",
		Args:          cobra.NoArgs,
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE: func(c *cobra.Command, _ []string) error {
			if patients < 1 || patients > 100000 {
				return fmt.Errorf("--patients is %d; allowed: 1 to 100000", patients)
			}
			for i, clinic := range clinics {
				o, err := dose.ParseOwned(clinic.owned)
				if err != nil {
					return fmt.Errorf("reading what a clinic owns: %w", err)
				}
				if i > 0 {
					fmt.Fprintln(c.OutOrStdout())
				}
				fmt.Fprintf(c.OutOrStdout(), "%s (seed %d)\n", clinic.name, seed)
				rep := simulated.Run(simulated.Standard(), protocol.Default(), o, patients, rand.New(rand.NewPCG(seed, 2026)))
				if err := rep.Write(c.OutOrStdout()); err != nil {
					return err
				}
			}
			return nil
		},
	}
	c.Flags().IntVar(&patients, "patients", patients, "how many")
	c.Flags().Uint64Var(&seed, "seed", seed, "of the random numbers; the same seed gives the same figures")
	return c
}
