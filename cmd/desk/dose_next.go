package main

import (
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"evenbell/coach"
	"evenbell/coach/dose"
	"evenbell/coach/journal"
	"evenbell/coach/review"
)

// nextFlags are the options of desk dose next.
type nextFlags struct {
	entries, exercise, increments, today, tag, protocol, ceiling string
	cleared, admitted, precautions                               []string
	json                                                         bool
}

func (p *program) doseNext() *cobra.Command {
	var f nextFlags
	c := &cobra.Command{
		Use:   `next --entries F.jsonl --exercise ID --increments "1, 1.5, 2 kg"`,
		Short: "Propose the next dose of one exercise from what was done",
		Long: `Next reads a journal, reviews what one person did of one exercise, and proposes
what comes next, with the rule that decided, its reasons and the sessions it looked
at. It does nothing by itself: a supervisor approves it or does not.

A stop, a session not started, a symptom at the end or an unanswered question keeps
the dose where it is until a supervisor has cleared it. In a journal that is a release
by a named person; --cleared adds another. A release at the box names nobody and
clears nothing.

A journal that is damaged, doubled, out of order or half missing is marked so, and
nothing rises on it.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error { return p.next(f) },
	}
	fl := c.Flags()
	fl.StringVar(&f.entries, "entries", "", "the journal, JSON lines `FILE`; - for standard input")
	fl.StringVar(&f.exercise, "exercise", "", "the exercise's `ID`, as station catalogue lists them")
	fl.StringVar(&f.increments, "increments", "", `what the clinic owns: "1, 1.5, 2 kg; band 1, 2", or bands by force, "band 12, 18 N"; empty for nothing`)
	fl.StringVar(&f.today, "today", "", "the `DAY` to propose on; without it the system's")
	fl.StringVar(&f.tag, "tag", "", "whose entries, where the file has several persons'")
	fl.StringVar(&f.ceiling, "ceiling", "", `the heaviest load this person may be given, such as "5 kg"`)
	fl.StringArrayVar(&f.cleared, "cleared", nil, `a supervisor cleared what came before: "DAY NAME"; may be given again`)
	fl.StringArrayVar(&f.admitted, "admitted", nil, "a `DAY` in hospital; may be given again")
	fl.StringArrayVar(&f.precautions, "precaution", nil, `a precaution in force, such as "balance" or "shoulder left"; may be given again`)
	fl.BoolVar(&f.json, "json", false, "print JSON")
	protocolFlag(c, &f.protocol)
	for _, name := range []string{"entries", "exercise", "increments"} {
		_ = c.MarkFlagRequired(name)
	}
	return c
}

func (p *program) next(f nextFlags) error {
	limits, err := p.readProtocol(f.protocol)
	if err != nil {
		return err
	}
	e, err := findExercise(f.exercise)
	if err != nil {
		return err
	}
	o, err := ownedFlag(f.increments)
	if err != nil {
		return err
	}
	today, err := dayFlag("--today", f.today)
	if err != nil {
		return err
	}
	log, tag, err := p.log(f.entries, f.tag)
	if err != nil {
		return err
	}
	h := log.History(e)
	h.Clearances = log.Clearances()
	if err := f.add(&h); err != nil {
		return err
	}
	if last := lastDay(h); last > today.AddDays(1) {
		return fmt.Errorf("--today is %s, before the last session on %s", today, last)
	}
	got, err := dose.Propose(limits, o, h, today)
	if err != nil {
		return failed(err)
	}
	return p.showNext(f.json, proposalOf(tag, got, log))
}

func ownedFlag(s string) (dose.Owned, error) {
	if strings.TrimSpace(s) == "" {
		return dose.Owned{}, nil
	}
	o, err := dose.ParseOwned(s)
	if err != nil {
		return o, fmt.Errorf("--increments: %w", err)
	}
	return o, nil
}

func dayFlag(flag, s string) (coach.Day, error) {
	if s == "" {
		return coach.DayOf(time.Now()), nil
	}
	d, err := coach.ParseDay(s)
	if err != nil {
		return d, fmt.Errorf("%s: %w", flag, err)
	}
	return d, nil
}

// log reviews a journal file, or standard input, for one person. Lines that
// can't be read are reported, and leave their hole in the log.
func (p *program) log(file, tag string) (*review.Log, string, error) {
	in := p.stdin
	if file != "-" {
		f, err := os.Open(file)
		if err != nil {
			return nil, "", failed(fmt.Errorf("reading the entries: %w", err))
		}
		defer f.Close()
		in = f
	}
	entries, faults := journal.Read(file, in)
	for _, fault := range faults {
		fmt.Fprintln(p.stderr, fault)
	}
	log := review.Read(entries, time.Local)
	tags := log.Tags()
	switch {
	case tag == "" && len(tags) > 1:
		return nil, "", fmt.Errorf("the file has entries of %s; say whose with --tag", strings.Join(tags, ", "))
	case tag == "" && len(tags) == 1:
		tag = tags[0]
	}
	of := log.Of(tag)
	if len(of.Sessions) == 0 {
		return nil, "", failed(noSession(tag, file))
	}
	return of, tag, nil
}

// add puts what staff know beside the log.
func (f nextFlags) add(h *dose.History) error {
	for _, s := range f.cleared {
		day, by, _ := strings.Cut(s, " ")
		d, err := coach.ParseDay(day)
		if err != nil || strings.TrimSpace(by) == "" {
			return fmt.Errorf(`--cleared is %q; write the day and who cleared it, such as "2026-03-05 R. Okafor"`, s)
		}
		h.Clearances = append(h.Clearances, dose.Clearance{By: strings.TrimSpace(by), At: d.AddDays(1).Time().Add(-time.Second)})
	}
	for _, s := range f.admitted {
		d, err := dayFlag("--admitted", s)
		if err != nil {
			return err
		}
		h.Events = append(h.Events, dose.Event{Kind: dose.AdmissionEvent, At: d.Time()})
	}
	for _, s := range f.precautions {
		pre, err := precaution(s)
		if err != nil {
			return err
		}
		h.Precautions = append(h.Precautions, pre)
	}
	if f.ceiling == "" {
		return nil
	}
	l, err := coach.ParseLoad(f.ceiling)
	if err != nil {
		return fmt.Errorf("--ceiling: %w", err)
	}
	h.Ceiling.Load = l
	return nil
}

func precaution(s string) (coach.Precaution, error) {
	kind, side, _ := strings.Cut(s, " ")
	known := make([]string, len(coach.PrecautionKinds))
	for i, k := range coach.PrecautionKinds {
		known[i] = string(k)
		if string(k) == kind {
			switch sd := coach.Side(side); sd {
			case coach.NoSide, coach.Left, coach.Right, coach.Both:
				return coach.Precaution{Kind: k, Side: sd}, nil
			}
		}
	}
	return coach.Precaution{}, fmt.Errorf("--precaution is %q; allowed: one of %s, with left, right or both behind it", s, strings.Join(known, ", "))
}

func lastDay(h dose.History) coach.Day {
	var last coach.Day
	for _, s := range h.Sessions {
		last = max(last, coach.DayOf(s.At))
	}
	return last
}

func noSession(tag, file string) error {
	if tag == "" {
		return fmt.Errorf("no session in %s", file)
	}
	return fmt.Errorf("no session of %s in %s", tag, file)
}
