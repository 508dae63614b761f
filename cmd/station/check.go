package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	shared "evenbell/cmd/program"
	"evenbell/coach/player"
	"evenbell/coach/station"
)

func (p *program) check() *cobra.Command {
	var protocolFile string
	c := &cobra.Command{
		Use:   "check PLAN.toml",
		Short: "Say everything that is wrong with a plan, at once",
		Long: `Check reads a day plan strictly and prints every fault, one a line, with file,
line, key and what is allowed; then, if there is none, what each patient has and
how long it will take a person who answers at once.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error { return p.checkPlan(args[0], protocolFile) },
	}
	c.Flags().StringVar(&protocolFile, "protocol", "", "the clinic's own protocol `FILE`; without it the built-in defaults hold")
	return c
}

func (p *program) checkPlan(file, protocolFile string) error {
	pl, warnings, err := readPlan(file, protocolFile)
	if faults, bad := shared.Faults(err); bad { // they are what was asked for
		shared.Print(p.stdout, faults)
		return invalid(nil)
	}
	if err != nil {
		return err
	}
	shared.Print(p.stdout, warnings)
	voice, err := station.OpenVoice(pl.Voice)
	if err != nil {
		return failed(err)
	}
	defer voice.Close()
	voice.Own(pl.Own)
	speaker, err := voice.Patiently()
	if err != nil {
		return failed(err)
	}
	for _, who := range pl.Patients {
		prog, err := pl.Resolve(who.Tag, pl.Day)
		if err != nil {
			return failed(err)
		}
		_, length := player.Dry(player.Config{Programme: &prog, Voice: speaker, Patient: player.Willing})
		fmt.Fprintf(p.stdout, "%s: %d item%s, about %s\n", who.Tag, len(prog.Items), plural(len(prog.Items)), clock(length.Time()))
	}
	return nil
}

// clock writes a time as minutes and seconds.
func clock(d time.Duration) string {
	s := int((d + time.Second/2) / time.Second)
	return fmt.Sprintf("%d:%02d min", s/60, s%60)
}

func plural(n int) string {
	if n == 1 {
		return ""
	}
	return "s"
}
