package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"evenbell/audio/sink"
)

// rehearseFlags are what `station rehearse` was asked for.
type rehearseFlags struct {
	protocol, tag, sink         string
	speed                       float64
	wav, cues, journal, presses string
	levels                      levels
}

func (p *program) rehearse() *cobra.Command {
	var f rehearseFlags
	c := &cobra.Command{
		Use:   "rehearse [PLAN.toml]",
		Short: "Coach a session in this terminal, keys standing in for the buttons",
		Long: `Rehearse coaches one patient's session in real time with sound, in the terminal,
with keys for the button box. Without a plan it coaches the built-in demo, which
is prescribed to nobody. Where standard input is no terminal a willing patient
answers, and the command ends with the session.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return p.rehearsePlan(c.Context(), strings.Join(args, ""), &f)
		},
	}
	fl := c.Flags()
	fl.StringVar(&f.protocol, "protocol", "", "the clinic's own protocol `FILE`")
	fl.StringVar(&f.tag, "tag", "", "the patient's `TAG`; without it the first in the plan")
	fl.StringVar(&f.sink, "sink", "auto", "where the sound goes: "+sink.Specs)
	fl.Float64Var(&f.speed, "speed", 1, "how many times faster than real time; only without sound")
	fl.StringVar(&f.wav, "wav", "", "write what was heard to `FILE`, too")
	fl.StringVar(&f.cues, "cues", "", "write every cue heard to `FILE` as CSV")
	fl.StringVar(&f.journal, "journal", "", "write the log to `FILE` as JSON lines")
	fl.StringVar(&f.presses, "presses", "", "add presses from a CSV `FILE` with the header seconds,button")
	f.levels.flags(fl)
	return c
}

func (p *program) rehearsePlan(ctx context.Context, file string, f *rehearseFlags) error {
	if f.speed == 0 {
		return fmt.Errorf("--speed %v: it is more than 0", f.speed)
	}
	if err := sink.Check(f.sink, f.speed); err != nil {
		return err
	}
	if err := f.levels.check(); err != nil {
		return err
	}
	presses, err := readPresses(f.presses)
	if err != nil {
		return err
	}
	s, err := p.prepare(file, f.protocol, f.tag, strconv.FormatFloat(f.speed, 'g', -1, 64))
	if err != nil {
		return err
	}
	defer s.voice.Close()
	r := &rehearsal{p: p, f: f, s: s, began: time.Now().UTC()}
	if err := r.begin(ctx, presses); err != nil {
		return failed(err)
	}
	if err := r.run(ctx); err != nil {
		return failed(err)
	}
	return nil
}
