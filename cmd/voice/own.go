package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"evenbell/coach"
	"evenbell/coach/plan"
	"evenbell/coach/script"
)

func ownFlag(cmd *cobra.Command, to *string) {
	cmd.Flags().StringVar(to, "own", "", "the clinic's own exercises, a `FILE` of format exercises/1: their words are lines of the pack, too")
}

// lines is the script of a language, with the words of a clinic's own exercises
// where a file of them is named.
func lines(lang, own string) (*script.Script, error) {
	s, err := script.Load(lang)
	if err != nil || own == "" {
		return s, err
	}
	text, err := os.ReadFile(own)
	if err != nil {
		return nil, fmt.Errorf("reading the clinic's own exercises: %w", err)
	}
	exercises, faults := plan.ReadOwn(own, text)
	if wrong := coach.Errors(faults); len(wrong) > 0 {
		return nil, fmt.Errorf("the clinic's own exercises: %w", joined(wrong))
	}
	return s.With(exercises), nil
}

// joined is faults as one error, one a line.
func joined(faults []coach.Fault) error {
	text := ""
	for _, f := range faults {
		text += "\n" + f.String()
	}
	return fmt.Errorf("%d fault(s)%s", len(faults), text)
}
