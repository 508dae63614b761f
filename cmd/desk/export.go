package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"

	"evenbell/coach"
	"evenbell/coach/desk/gather"
	"evenbell/coach/desk/record"
	"evenbell/coach/desk/store"
)

// exportFlags are the options of desk export.
type exportFlags struct {
	dir, what, format, tag, since, session, out string
}

// What can be exported, and in which formats.
var exports = map[string][]string{
	"entries":  {"csv", "jsonl"},
	"sets":     {"csv", "jsonl"},
	"sessions": {"csv", "jsonl"},
	"incident": {"csv", "jsonl"},
	"patient":  {"fhir"},
}

func (p *program) export() *cobra.Command {
	var f exportFlags
	c := &cobra.Command{
		Use:   "export --data DIR --what entries|sets|sessions|incident|patient --format csv|jsonl|fhir",
		Short: "Data out",
		Long: `Export writes what was logged and done.

  entries, sets, sessions   of one tag or of all, from a day on, as CSV or JSON lines
  incident                  one session with everything around it, the chain checked:
                            of --session, else the newest that a stop ended (of --tag)
  patient                   one patient's record as a FHIR R4 bundle (--tag, --format fhir)

Names of patients are in none of these but the patient's own record. What is
exported goes into the audit trail.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			choice, err := f.check()
			if err != nil {
				return err
			}
			return p.with(c.Context(), f.dir, func(d *opened) error {
				return p.written(f.out, func(w io.Writer) error { return f.write(c.Context(), d, choice, w) })
			})
		},
	}
	dataFlag(c, &f.dir)
	fl := c.Flags()
	fl.StringVar(&f.what, "what", "", "entries, sets, sessions, incident or patient")
	fl.StringVar(&f.format, "format", "", "csv or jsonl; fhir for a patient")
	fl.StringVar(&f.tag, "tag", "", "of this `TAG` only")
	fl.StringVar(&f.since, "since", "", "from this `DAY` on, the clinic's days")
	fl.StringVar(&f.session, "session", "", "the `ID` of the session, for an incident")
	fl.StringVar(&f.out, "out", "", "into this `FILE`, whole or not at all, in place of standard output")
	_ = c.MarkFlagRequired("what")
	_ = c.MarkFlagRequired("format")
	c.AddCommand(p.exportColumns())
	return c
}

func (p *program) exportColumns() *cobra.Command {
	return &cobra.Command{
		Use: "columns entries|sets|sessions|incident", Short: "What stands in each column of an export",
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			all, err := record.Columns(args[0])
			if err != nil {
				return err
			}
			for _, c := range all {
				fmt.Fprintf(p.stdout, "%-22s %s\n", c.Name, c.About)
			}
			return nil
		},
	}
}

// check looks at what was asked for before anything is opened.
func (f exportFlags) check() (gather.Choice, error) {
	formats, ok := exports[f.what]
	switch {
	case !ok:
		return gather.Choice{}, fmt.Errorf("--what is %q; one of entries, sets, sessions, incident, patient", f.what)
	case !slices.Contains(formats, f.format):
		return gather.Choice{}, fmt.Errorf("--format is %q; %s comes as %s", f.format, f.what, strings.Join(formats, " or "))
	case f.what == "patient" && f.tag == "":
		return gather.Choice{}, errors.New("--what patient needs --tag")
	case f.session != "" && f.what != "incident":
		return gather.Choice{}, errors.New("--session is for --what incident")
	}
	choice := gather.Choice{Tag: f.tag}
	if f.since != "" {
		day, err := coach.ParseDay(f.since)
		if err != nil {
			return choice, fmt.Errorf("--since: %w", err)
		}
		choice.Since = day
	}
	return choice, nil
}

// written gives a command's result to standard output, or to a file that
// appears whole or not at all.
func (p *program) written(file string, write func(io.Writer) error) error {
	if file == "" {
		w := bufio.NewWriter(p.stdout)
		return errors.Join(write(w), w.Flush())
	}
	f, err := renameio.NewPendingFile(file, renameio.WithPermissions(0o600))
	if err != nil {
		return err
	}
	defer f.Cleanup()
	w := bufio.NewWriter(f)
	if err := errors.Join(write(w), w.Flush()); err != nil {
		return err
	}
	return f.CloseAtomicallyReplace()
}

func (f exportFlags) write(ctx context.Context, d *opened, choice gather.Choice, w io.Writer) error {
	from := gather.From{Desk: d.Desk, Who: d.who}
	if f.what == "patient" {
		chart, err := from.Chart(ctx, f.tag)
		if err != nil {
			return err
		}
		return record.FHIR(w, chart)
	}
	format, err := record.ParseFormat(f.format)
	if err != nil {
		return err
	}
	if f.what == "incident" {
		return f.incident(ctx, d, from, format, w)
	}
	clinic, err := from.Clinic(ctx)
	if err != nil {
		return err
	}
	if f.what == "entries" {
		entries, err := from.Entries(ctx, choice)
		if err != nil {
			return err
		}
		return record.WriteEntries(w, format, clinic, entries)
	}
	sessions, err := from.Sessions(ctx, choice)
	if err != nil {
		return err
	}
	if f.what == "sets" {
		return record.WriteSets(w, format, clinic, sessions)
	}
	limits, err := d.Protocol(ctx)
	if err != nil {
		return err
	}
	return record.WriteSessions(w, format, clinic, limits, sessions)
}

func (f exportFlags) incident(ctx context.Context, d *opened, from gather.From, format record.Format, w io.Writer) error {
	id, err := f.chosen(ctx, d)
	if err != nil {
		return err
	}
	in, err := from.Incident(ctx, id)
	if err != nil {
		return err
	}
	in.Patient.Name = "" // a file goes further than a page
	report, err := in.Report()
	if err != nil {
		return err
	}
	return report.Write(w, format)
}

// chosen is the session an incident is about.
func (f exportFlags) chosen(ctx context.Context, d *opened) (string, error) {
	if f.session != "" {
		return f.session, nil
	}
	choose := store.SessionFilter{Tag: f.tag}
	if f.since != "" {
		zone, err := d.Zone(ctx)
		if err != nil {
			return "", err
		}
		if choose.Since, err = time.ParseInLocation(time.DateOnly, f.since, zone); err != nil {
			return "", err
		}
	}
	all, err := d.store.Sessions(ctx, choose)
	if err != nil {
		return "", err
	}
	for _, s := range slices.Backward(all) {
		if s.Stopped {
			return s.ID, nil
		}
	}
	if f.tag != "" && len(all) > 0 {
		return all[len(all)-1].ID, nil
	}
	return "", errors.New("no stop is in the log that was asked about; say which session with --session, or whose with --tag")
}
